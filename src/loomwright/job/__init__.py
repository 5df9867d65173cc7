"""The job: what the sheets say about one car, as frozen rows; reading, writing, checking and editing them as text.

`reading.job_from_text` and `writing.text_from_job` are the way in and out, `schema` says which sheets and columns
there are, `edits` gives a changed job, `points`, `variables` and `vehicle` answer what everybody asks of it. No file
is opened here.
"""
