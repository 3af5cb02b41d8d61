"""Jobs in the words of other tools, by open formats only."""
