"""Jobs with their sheets written: one, many on this machine's cores, many on a cluster."""
