"""The command line: asks the study, prints the answer. It adds no physics."""
