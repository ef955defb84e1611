"""The placing day: its plan, readings, thickness, and the plan of pours."""
