"""What tests share: dampers and stacks to try, other ways to work out the same, shops, sheets, a browser."""
