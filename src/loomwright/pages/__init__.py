"""What does a browser show, at the desk and under the dash?

`app` puts it together: who may come in (`doors`), what answers to which address (`routes`), what each page says as
records (`records`) that a template only places, and what works longer than a page may wait (`checking`, `paper_bench`,
`answer_bench`).
"""
