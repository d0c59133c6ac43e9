"""Which single shims go where, by a constraint solver."""
