"""The actions of ``lehrling archive``: firings listed, written as plain files, taken in, checked."""
