"""Ports for servers that are ended and started again on the port they had."""

import random
import socket
from contextlib import suppress

LOWEST, HIGHEST = 10_240, 32_767
"""Below those the kernel gives out by itself (ip_local_port_range): any call may get one."""


def free_port() -> int:
    """Give a port of this machine nobody listens on."""
    while True:
        port = random.SystemRandom().randint(LOWEST, HIGHEST)
        with suppress(OSError), socket.socket() as asked:
            asked.bind(("127.0.0.1", port))
            return port
