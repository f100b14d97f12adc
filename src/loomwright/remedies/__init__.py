"""Remedies that are a definite edit of the rig file: what a finding asks for, as changes that can be made at once."""
