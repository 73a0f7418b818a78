"""Lessons run and checked, pictures, site, slides and worksheets."""
