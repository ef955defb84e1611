"""Which repairs go together: one patch over several marks, the cut list, the printed lists."""
