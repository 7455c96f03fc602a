"""What start.py does. Standard library only: nothing is installed yet when it runs."""
