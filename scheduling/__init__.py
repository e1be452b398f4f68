"""Who sits where and when: rules, sits, rotation, errands."""
