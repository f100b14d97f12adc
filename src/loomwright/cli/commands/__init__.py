"""One module for each command: its words, its options, its table. All of them ask the service."""
