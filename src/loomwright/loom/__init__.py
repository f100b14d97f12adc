"""The loom: routes, lengths, bundles, ends, disconnects, cut list, labels and the ring-out of one rig."""
