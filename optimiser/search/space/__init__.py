"""The stacks that are searched: skeletons, shapes, families and their members."""
