"""The pages, one folder for each thing that people come to the desk for."""
