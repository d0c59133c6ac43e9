"""The command line: each command parses, calls one function of the library and shows the result."""
