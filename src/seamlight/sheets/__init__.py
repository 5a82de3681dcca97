"""What a maker looks at, prints and saws to.

In: layouts with the flat pictures of their leaves, readings, outlines, racks.
Out: pictures as arrays (the opened pair, all openings, a reading) and PDF, DXF and SVG files (marking sheet,
contact sheet, outline and target at full size). Nothing is decided here: it shows what other rooms
found.
"""

from seamlight.sheets.book import book_matched
from seamlight.sheets.marking import marking_sheet
from seamlight.sheets.openings import openings_picture
from seamlight.sheets.picture_file import save_picture
from seamlight.sheets.reading import reading_picture

__all__ = ["book_matched", "marking_sheet", "openings_picture", "reading_picture", "save_picture"]
