"""One job from its description to its answer."""
