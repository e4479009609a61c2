"""Pictures for the chat: records in, PNG bytes out.

Each picture has its own module with one ``*_png`` function. They are pure: no clock, no files, no
drawing state shared between calls. Drawing takes some hundred milliseconds, so call them off the
event loop. Nothing is imported here: the drawing library loads with the first picture.
"""
