"""The checks of the link styles, bit by bit from their parameters.

The values for `123456789` in golden.py were recomputed by other people's general-purpose libraries, named there.
"""


def crc_high_first(data, width, polynomial, start, final):
    """A CRC that takes each byte's highest bit first."""
    register, top, full = start, 1 << (width - 1), (1 << width) - 1
    for byte in data:
        register ^= byte << (width - 8)
        for _ in range(8):
            register = ((register << 1) ^ polynomial if register & top else register << 1) & full
    return register ^ final


def fcs_register(data):
    """RFC 1662 C.2: the FCS-16 register after `data`, before the complement. Good frames with their FCS leave F0B8."""
    register = 0xFFFF
    for byte in data:
        register ^= byte
        for _ in range(8):
            register = (register >> 1) ^ 0x8408 if register & 1 else register >> 1
    return register


def cue_crc(data):
    """The cue line's CRC-16."""
    return crc_high_first(data, 16, 0x1021, 0x5A17, 0)


def xmodem(data):
    """CRC-16/XMODEM."""
    return crc_high_first(data, 16, 0x1021, 0, 0)


def ladder_crc(data):
    """CRC-8/AUTOSAR."""
    return crc_high_first(data, 8, 0x2F, 0xFF, 0xFF)


def stave_crc(data):
    """The stave's CRC-8."""
    return crc_high_first(data, 8, 0x97, 0x3C, 0)


def fcs16(data):
    """FCS-16 of RFC 1662, which is CRC-16/IBM-SDLC; it is sent low byte first."""
    return fcs_register(data) ^ 0xFFFF


def sum8(data):
    """The sum of all bytes, low eight bits."""
    return sum(data) & 0xFF
