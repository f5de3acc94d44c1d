"""The mutation run is begun by hand and needs ``coverage``: it holds no tests."""

collect_ignore_glob = ["*.py"]
