"""A publisher that is never the bottleneck: every packet is made beforehand and sent down a bare socket.

MQTT 3.1.1, QoS 1. It counts the broker's acknowledgements, so that nothing counts as sent that the broker did not take.
"""

import socket
import struct
import threading
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["Message", "connected", "packets", "speaking"]

Message = tuple[str, bytes]
_CONNECT, _PUBLISH_QOS1 = 0x10, 0x32
_PUBACK_BYTES = 4
_KEEPALIVE_S = 600
_PACKET_IDS = 65_535


def packets(messages: list[Message]) -> bytes:
    """Return the messages as they go over the wire."""
    told = []
    for number, (topic, payload) in enumerate(messages):
        name = topic.encode()
        body = struct.pack("!H", len(name)) + name + struct.pack("!H", number % _PACKET_IDS + 1) + payload
        told.append(bytes((_PUBLISH_QOS1,)) + _length(len(body)) + body)
    return b"".join(told)


def _length(size: int) -> bytes:
    """Write a packet's length, seven bits a byte."""
    told = bytearray()
    while True:
        size, low = divmod(size, 128)
        told.append(low | (0x80 if size else 0))
        if not size:
            return bytes(told)


@contextmanager
def connected(port: int, count: int) -> Iterator[socket.socket]:
    """Give a connection for the time of a block; at its end the broker acknowledged so many messages."""
    connection = socket.create_connection(("127.0.0.1", port))
    connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    body = b"\x00\x04MQTT\x04\x02" + struct.pack("!H", _KEEPALIVE_S) + b"\x00\x05bench"
    connection.sendall(bytes((_CONNECT,)) + _length(len(body)) + body)
    assert len(connection.recv(_PUBACK_BYTES, socket.MSG_WAITALL)) == _PUBACK_BYTES
    taken = threading.Thread(target=_count, args=(connection, count))
    taken.start()
    try:
        yield connection
        taken.join(120)
        assert not taken.is_alive(), "the broker did not acknowledge every message"
    finally:
        connection.close()


@contextmanager
def speaking(port: int, wire: bytes, count: int) -> Iterator[None]:
    """Publish in a thread for the time of a block; at its end every message was acknowledged by the broker."""
    with connected(port, count) as connection:
        sender = threading.Thread(target=connection.sendall, args=(wire,))
        sender.start()
        yield
        sender.join(120)


def _count(connection: socket.socket, count: int) -> None:
    """Read acknowledgements until there is one for each message."""
    left = count * _PUBACK_BYTES
    while left:
        read = len(connection.recv(min(left, 65_536)))
        assert read, "the broker closed the connection"
        left -= read
