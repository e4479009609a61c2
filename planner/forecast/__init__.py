"""Forecasts from readings: the core in the smoke, cooling, and the pellicle."""

from planner.forecast.core import CoreForecast, Expected, forecast_core

__all__ = ["CoreForecast", "Expected", "forecast_core"]
