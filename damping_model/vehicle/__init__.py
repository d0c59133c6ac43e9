"""Between wheel and shaft: leverage and springs."""
