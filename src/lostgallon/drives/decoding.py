"""Raw bytes of service 01 into readings, by the one table of channels."""

from lostgallon.shop.channels import Channel, channels
from lostgallon.shop.trouble import BadInput, suggestion


def decode(channel_id: str, raw: bytes) -> float:
    """A reading from its bytes, in the port's unit of the channel (data/headings.csv).

    Args:
        channel_id: A channel that the port sends.
        raw: Its data bytes, the high byte first.

    Raises:
        BadInput: If the channel is unknown, the port does not send it, or the bytes are too few or too many.

    Source: SAE J1979 / ISO 15031-5, service 01: value = scale x raw + offset.
    """
    channel = _sent(channel_id)
    if len(raw) != channel.bytes:
        raise BadInput(channel_id, found=f"{len(raw)} bytes", expected=f"{channel.bytes}")
    return channel.scale * int.from_bytes(raw, "big") + channel.offset


def _sent(channel_id: str) -> Channel:
    sent = {name: one for name, one in channels().items() if one.pid and one.bytes}
    if channel_id not in sent:
        raise BadInput("channel", found=repr(channel_id), expected=f"one the port sends{suggestion(channel_id, sent)}")
    return sent[channel_id]
