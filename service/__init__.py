"""The Laptight service: the pre-pour punch list from sketch to release."""
