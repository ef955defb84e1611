"""The concrete: how much to order, the plan of pours and its pace, the thickness of the slab."""
