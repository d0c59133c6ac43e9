"""The local page: the whole job in a browser, served on this machine from the shop's folder."""
