"""New riders, machines, dampers and shelves from answers: kinds as data, and the files they fill."""
