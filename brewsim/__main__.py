"""Run brewsim as `python -m brewsim`."""

from brewsim.cli import main

if __name__ == "__main__":
    main()
