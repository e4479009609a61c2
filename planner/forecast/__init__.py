"""Forecasts from readings: the core in the smoke, cooling, and the pellicle."""

from planner.forecast.cooling import CoolingForecast, forecast_cooling
from planner.forecast.core import CoreForecast, Expected, forecast_core
from planner.forecast.pellicle import PellicleForecast, forecast_pellicle

__all__ = [
    "CoolingForecast",
    "CoreForecast",
    "Expected",
    "PellicleForecast",
    "forecast_cooling",
    "forecast_core",
    "forecast_pellicle",
]
