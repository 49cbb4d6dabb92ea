"""What ``manage.py bench`` measures: each part against a bare baseline in the same run, in databases of its own."""
