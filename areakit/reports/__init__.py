"""Things to print or look at."""
