"""Published sets of lives, and those of the worked examples."""

TEN_OF_TWENTY = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
TEN_RUNNING = (500,) * 10

ABSORBERS_FAILED = (6700, 9120, 12200, 13150, 14300, 17520, 20100, 20900, 22700, 26510, 27490)
ABSORBERS_RUNNING = (
    6950, 7820, 8790, 9660, 9820, 11310, 11690, 11850, 11880, 12140, 12870, 13330, 13470, 14040, 17540, 17890,
    18450, 18960, 18980, 19410, 20100, 20150, 20320, 23490, 27410, 27890, 28100,
)  # fmt: skip

_INSPECTED = (0, 6.12, 19.92, 29.64, 35.40, 39.72, 45.24, 52.32, 63.48)
_CRACKED = (5, 16, 12, 18, 18, 2, 6, 17)
CRACKED_BETWEEN = tuple(
    (low, high)
    for low, high, count in zip(_INSPECTED[:-1], _INSPECTED[1:], _CRACKED, strict=True)
    for _ in range(count)
)
UNCRACKED = (63.48,) * 73
