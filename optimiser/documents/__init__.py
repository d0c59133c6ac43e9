"""What is written out for other programs, as JSON and CSV, and read back."""
