"""In which order to visit marks so as to walk least, round walls."""
