"""What people touch and print: the touch app, the services behind it, papers, rosters, the command."""
