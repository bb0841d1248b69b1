"""Run the command line as ``python -m areakit``."""

from areakit.cli.main import main

if __name__ == "__main__":
    main()
