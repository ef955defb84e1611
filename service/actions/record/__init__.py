"""The record: a project's history and evidence as one ZIP, and verifying one."""
