"""The reckoning: pure functions and data. No input or output, no database, no clock."""
