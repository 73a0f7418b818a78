"""Live panels, the sweep desk, and sharing."""
