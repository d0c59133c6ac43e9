"""What people see: build sheet, drawings, curves, tables."""
