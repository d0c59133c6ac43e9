"""What the wheel does: a machine on its springs, dampers and tyres, over a road and under its loads."""
