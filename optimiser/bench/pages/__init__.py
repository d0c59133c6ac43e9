"""The pages: each reads what it shows, and each form calls what the command line calls."""
