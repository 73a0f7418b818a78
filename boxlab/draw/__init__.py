"""From a `Scene` to a picture, and drawings of boxes."""
