"""Every error that Holdwatch raises on purpose.

::

    HoldwatchError
    ├── ConfigError            a setting, option or file of ours cannot be used
    │   ├── LimitsError        a limits file is unknown or breaks its schema
    │   └── RefusedError       somebody tried what they may not do
    ├── RecordFileError        a file of readings cannot be judged
    ├── PayloadError           a message from a probe cannot be kept as a reading
    │   ├── MalformedPayloadError
    │   └── UnknownProbeError
    ├── OutOfRangeError        a formula was asked outside its source's range
    ├── StorageError           the store cannot be opened, read or written
    │   ├── StoreMissingError      there is none at that place
    │   ├── StoreBusyError         another process holds it too long
    │   ├── StoreFullError         the disk under it is full
    │   ├── StoreReadOnlyError     it may not be written
    │   ├── StoreVersionError      it was made by another version
    │   ├── NameTakenError         it already holds a unit, probe, batch … of that name
    │   └── UnknownNameError       it holds no unit, probe, batch … of that name
    └── DeliveryError          a channel did not take an alert

Each message says what was wrong, where, and what to do, in words that may be shown to a cook.
A programmer's mistake is a ``ValueError`` or ``TypeError``, never one of these.
"""

from holdwatch.language import _, decimals


class HoldwatchError(Exception):
    """Raised for anything a person can put right; the message is one line for that person."""


class ConfigError(HoldwatchError):
    """Raised when a setting, an option or a file of ours cannot be used."""


class LimitsError(ConfigError):
    """Raised when a limits file is unknown or breaks its schema."""


class RefusedError(ConfigError):
    """Raised when somebody tried what they may not do; whoever opened the store for them keeps the try."""

    def __init__(self, message: str, *, who: str, what: str = "") -> None:
        """Keep beside the sentence who it was, as far as that was said, and what was to be done."""
        super().__init__(message)
        self.who, self.what = who, what


class RecordFileError(HoldwatchError):
    """Raised when a file of readings cannot be judged at all."""


class PayloadError(HoldwatchError):
    """Raised when a message from a probe cannot be kept as a reading."""


class MalformedPayloadError(PayloadError):
    """Raised when a payload is not of the format that the probe's profile states.

    ``reason`` is the word under which the message is set aside.
    """

    def __init__(self, message: str, reason: str = "unreadable") -> None:
        """Keep the word beside the sentence."""
        super().__init__(message)
        self.reason = reason


class UnknownProbeError(PayloadError):
    """Raised when a message comes on a topic that belongs to no registered probe."""


class OutOfRangeError(HoldwatchError):
    """Raised when a formula is asked outside the range that its source states."""

    def __init__(self, name: str, value: float, low: float, high: float, unit: str) -> None:
        """Keep the facts beside the sentence."""
        super().__init__(
            _("{name} is {value}; the source covers {low} to {high}").format(
                name=name,
                value=f"{_figure(value)} {unit}",
                low=_figure(low),
                high=f"{_figure(high)} {unit}",
            )
        )
        self.name, self.value, self.low, self.high, self.unit = name, value, low, high, unit


def _figure(value: float) -> str:
    return decimals(f"{value:g}")


class StorageError(HoldwatchError):
    """Raised when the store cannot be opened, read or written."""


class StoreMissingError(StorageError):
    """Raised when there is no store at the place given."""


class StoreBusyError(StorageError):
    """Raised when another process has held the store for longer than we wait."""


class StoreFullError(StorageError):
    """Raised when the disk under the store is full; nothing that was committed is lost."""


class StoreReadOnlyError(StorageError):
    """Raised when the store, or the directory that it lies in, may not be written."""


class StoreVersionError(StorageError):
    """Raised when the store was made by another version of Holdwatch."""


class NameTakenError(StorageError):
    """Raised when the store already holds a unit, probe, batch or contact of the name given."""


class UnknownNameError(StorageError):
    """Raised when the store holds no unit, probe, batch or contact of the name given."""


class DeliveryError(HoldwatchError):
    """Raised when a channel did not take an alert; ``retryable`` says whether to try again."""

    def __init__(self, message: str, *, retryable: bool) -> None:
        """Keep whether another try can help."""
        super().__init__(message)
        self.retryable = retryable
