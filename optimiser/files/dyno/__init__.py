"""Dyno files: CSV as machines write it, with columns that are named once per machine."""
