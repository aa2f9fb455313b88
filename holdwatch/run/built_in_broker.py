"""``python -m holdwatch.run.built_in_broker CONFIG``: the built-in broker, until it is ended."""

import logging
import sys

__all__ = ["main"]


def main(config: str) -> None:
    """Serve under a configuration; return only if the broker fails."""
    from iotcore import IotCoreBroker

    logging.basicConfig(level=logging.WARNING, format="%(levelname)s %(message)s")
    logging.getLogger("rumqttd").setLevel(logging.CRITICAL)  # its tracing spans come as errors, one a packet
    IotCoreBroker(config_path=config).run_forever()


if __name__ == "__main__":
    main(sys.argv[1])
