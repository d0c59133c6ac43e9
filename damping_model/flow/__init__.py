"""Oil, orifices, and every path past a piston."""
