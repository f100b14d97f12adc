"""Papers: what is printed and signed. Text from a rig reaches the typesetter as data, never as markup."""
