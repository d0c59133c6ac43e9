"""The files a shop keeps, read and checked at the border."""
