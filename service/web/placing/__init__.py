"""The placing day, starting and ending it, and the plan of pours."""
