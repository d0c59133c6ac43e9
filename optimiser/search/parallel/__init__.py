"""One tree searched in several processes with the same answer as in one."""
