"""For instructors: slides, worksheets with their key, run sheets, a class summary, a laptop check.

Everything is made from the lessons as they are saved and from the library, so it needs no network
and says what the lessons say. The run sheets themselves are text, in lessons/workshop/.
"""
