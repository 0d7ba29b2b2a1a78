"""YAML -> frozen settings, with every fault named by file, line and key."""
