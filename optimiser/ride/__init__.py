"""Events of a ride on a rider's own machine: what the wheel does in them, before a change and after."""
