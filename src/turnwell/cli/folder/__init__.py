"""What a command does to many files: one row each, one table, however often it was stopped."""
