"""The physics of one box: air, driver, vents, enclosure, and what the circuit answers."""
