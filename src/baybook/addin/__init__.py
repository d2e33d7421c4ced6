"""The engine inside somebody's own spreadsheet: one registry of functions, a face for Excel and one for Calc.

`declare`, `reading`, `deck`, `drainage`, `buying`, `words` and `registry` use the engine and the standard library only:
they are what LibreOffice's own Python runs. A face converts, calls and words the error; no numbers are made in it.
"""
