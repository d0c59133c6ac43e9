"""How surely a stack does what is promised: intervals, and the chance that all limits hold."""
