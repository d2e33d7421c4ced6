"""``python -m baybook``: the commands, where no script of that name is on the path."""

from baybook.cli import main

main(prog_name="baybook")
