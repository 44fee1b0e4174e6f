"""The watches: each sees one kind of trouble and says so for as long as it stands."""
