"""Pure decisions about a firing: no clock, file, socket, log or thread in here."""
