"""The shop's jobs: rigs with their history, photographs, readings and notes, kept so that nothing is lost."""
