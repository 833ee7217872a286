"""What a job starts from, as data: car bodies, service plans, product sheets."""
