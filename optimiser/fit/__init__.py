"""The fit of a damper's unknown figures to runs on a dyno."""
