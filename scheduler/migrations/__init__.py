"""The history of the tables, for Alembic. A change is additive first: old processes may still run."""
