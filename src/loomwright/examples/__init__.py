"""Jobs that come with the program: the demonstration van in two versions, and sound cars of other layouts."""
