"""What a dyno measured: runs as values, and the treatment that makes them of recordings and tables."""
