"""Messengers: what carries a message in and an answer out."""
