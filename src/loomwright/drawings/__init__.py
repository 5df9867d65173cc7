"""What is drawn on a page, as strokes and words, without any file format?"""
