"""Documents to keep and share: records in, bytes out.

The batch record (PDF, CSV, JSON), labels (PDF sheets, one PNG) and the plan as a calendar. All are
pure: no clock, no files; what must be dated takes its moment as an argument. Nothing is imported
here: the document libraries load with the first document.
"""
