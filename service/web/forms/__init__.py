"""What forms share: fields, sending once, places pressed on a picture, files, moments asked for."""
