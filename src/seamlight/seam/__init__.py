"""The joint: light through it, straightedge readings, what to take off, what the clamps must do."""
