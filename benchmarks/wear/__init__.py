"""Whether wear is told of kilns that wear, and of none that do not."""
