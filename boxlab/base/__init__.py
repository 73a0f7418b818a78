"""Units, typed quantities, checks of what is given, and files that are never half written."""
