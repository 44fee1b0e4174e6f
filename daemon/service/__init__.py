"""The first process: puts the parts together, runs the loop, feeds the watchdog, answers on its socket."""
