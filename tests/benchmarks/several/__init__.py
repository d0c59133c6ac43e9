"""Jobs over several stacks at once, and the search of them one by one."""
