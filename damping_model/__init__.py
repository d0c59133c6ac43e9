"""The physics of a shim-valve damper: plates in contact, oil through gaps, force against velocity."""
