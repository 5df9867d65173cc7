"""A job in a container: a folder of CSV sheets, a workbook, an archive, a document of JSON.

A container brings rows of text; what they mean is asked in `job`.
"""
