"""What does a recorded drive say of this car?

Columns of any naming are recognised (`channels`), the clock put right (`clock`), the drive read (`drive`); the
mixture is told cell by cell (`steady`, `delay`, `cells`, `proposal`), the rest of the car judged (`judged`), and what
is left before the dyno is listed (`dyno`). Frames come in lazily as polars frames; files are opened by `exchange`.
"""
