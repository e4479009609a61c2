"""The memory: journal, database, due reminders, delivery, the clock."""
