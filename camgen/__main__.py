"""Where the program begins: little is loaded here, so that it may be stopped while it loads."""

from __future__ import annotations

__all__ = ["begin"]


def begin() -> None:
    """Run the command line. Stopped by the keyboard, it says so, and ends with status 130."""
    try:
        from camgen.cli import main  # what takes time to load is loaded where a stop is caught

        main()
    except KeyboardInterrupt:
        import sys

        try:
            from camgen.cli import tell_stopped

            tell_stopped()
        except BaseException:  # stopped again, or before the words are there
            sys.stderr.write("\ncamgen: stopped\n")
        sys.exit(130)


if __name__ == "__main__":
    begin()
