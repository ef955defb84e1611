"""Calls of the office: projects, rule sets, orders, releases, calendars, ready lists."""
