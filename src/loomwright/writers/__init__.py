"""How do drawings, papers and networks leave the program? One module a format; each gives text or bytes."""
