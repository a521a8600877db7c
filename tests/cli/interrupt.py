"""A command on a terminal, interrupted once it shows a sign."""
import os
import pty
import re
import select
import signal
import subprocess
import time

PATIENCE_S = 300  # a net for a command that shows nothing; no test waits for it


class Terminal:
    """Runs a command whose stderr is a terminal; what it shows is read as it comes."""

    def __init__(self, args):
        self.master, theirs = pty.openpty()
        env = {**os.environ, 'LC_ALL': 'C.UTF-8', 'TERM': 'xterm'}
        self.process = subprocess.Popen([*map(str, args)], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=theirs, env=env)
        os.close(theirs)
        self.shown, self.end = b'', time.monotonic() + PATIENCE_S

    def read(self):
        """False once the command has closed its end."""
        if not select.select([self.master], [], [], max(0, self.end - time.monotonic()))[0]:
            self.process.kill()
            raise AssertionError(f'nothing more in {PATIENCE_S} s after: {self.shown}')
        try:
            more = os.read(self.master, 4096)
        except OSError:
            more = b''
        self.shown += more
        return bool(more)

    def wait_for(self, sign):
        """sign: a regular expression over the bytes shown."""
        while not re.search(sign, self.shown):
            if not self.read():
                raise AssertionError(f'ended without {sign}: {self.shown}')

    def signalled(self, number):
        """Sends the signal and waits: exit status, what is left to read when progress lines are erased."""
        self.process.send_signal(number)
        while self.read():
            pass
        os.close(self.master)
        lines = [line.rpartition('\r\x1b[K')[2] for line in self.shown.decode().split('\r\n')]
        return self.process.wait(), '\n'.join(lines)


def interrupted(args, sign=rb'[1-9] %', number=signal.SIGINT):
    """The command, sent the signal as soon as it has got some way."""
    terminal = Terminal(args)
    terminal.wait_for(sign)
    return terminal.signalled(number)
