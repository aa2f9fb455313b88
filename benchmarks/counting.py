"""The ceiling of a listener in Python: a paho client at QoS 1 that only counts what comes.

Run as ``python -m benchmarks.counting PORT COUNT``: it says ``ready`` when it has subscribed, and its count at the end.
"""

import sys

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

__all__: list[str] = []


def main(port: int, count: int) -> None:
    """Count messages until there are so many."""
    seen = 0

    def on_message(client: mqtt.Client, _userdata: object, _message: mqtt.MQTTMessage) -> None:
        nonlocal seen
        seen += 1
        if seen == count:
            client.disconnect()

    client = mqtt.Client(CallbackAPIVersion.VERSION2, protocol=mqtt.MQTTv311)
    client.on_subscribe = lambda *_: print("ready", flush=True)
    client.on_message = on_message
    client.connect("127.0.0.1", port)
    client.subscribe("holdwatch/#", qos=1)
    client.loop_forever()
    print(seen, flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
