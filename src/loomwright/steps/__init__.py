"""The build steps of one rig: what to do, in what order, with what, what to measure, where a second person signs."""
