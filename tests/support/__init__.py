"""Real parts that tests start: broker, database, browser."""
