"""Pure physics of the glass: no clock, file, socket, log or thread in here."""
