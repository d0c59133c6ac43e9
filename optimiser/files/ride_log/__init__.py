"""Logs of rides: CSV of travel against time, with columns that are named once per logger."""
