"""Whether a delivered damper suits a frame and rider, and the least work that makes it suit."""
