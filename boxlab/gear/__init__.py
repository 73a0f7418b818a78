"""The invented gear of the class. None of it is a product."""
