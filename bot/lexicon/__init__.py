"""Word lists: what people call fish, cuts, units, stages, places and the rest. Data only."""
