"""The doors: every way in from a command line, and what comes out of each."""
