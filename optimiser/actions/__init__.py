"""What one step of the shop's work does: the command line and the page in a browser both call it."""
