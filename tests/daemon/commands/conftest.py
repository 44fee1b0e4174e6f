"""What tests of the commands share."""

from tests.daemon.archive.conftest import box

__all__ = ["box"]
