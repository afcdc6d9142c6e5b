"""The demo workshop's own figures, written down a second time to check its data against.

All of them are invented. Lengths in millimetres, tapers included degrees, forces newtons;
a dash where there is nothing of the kind.
"""

from __future__ import annotations

# way: how the machines are carried; L, R: machines; od: of the bushing; post: or roller;
# min, max: peghead; gap: of posts on a plate; plate, knob: widths; screw: length.
TUNERS = """
key way   L R hand bush   od   post reach min  max  gap  plate knob screw metal  ratios
T01 solo  3 3 any  press  8.8  6    21    13   15.5 -    15    15.5 9.5   nickel 18:1
T02 solo  3 3 any  press  8.8  6    21    13   15.5 -    15    15.5 9.5   gold   18:1
T03 solo  3 3 any  press  8.35 6    21    13   15.5 -    15    15.5 9.5   nickel 18:1
T04 solo  3 3 any  press  8.8  6.35 21    13   15.5 -    15    15.5 9.5   nickel 15:1
T05 solo  3 3 any  thread 9.8  6    21.5  12   16.5 -    14.5  18   9.5   chrome 16:1
T06 solo  3 3 any  thread 9.8  6    21.5  12   16.5 -    14.5  18   9.5   black  16:1
T07 line  6 0 RH   thread 9.8  6    21.5  12   16.5 -    14.5  18   9.5   chrome 16:1
T08 line  0 6 LH   thread 9.8  6    21.5  12   16.5 -    14.5  18   9.5   chrome 16:1
T09 plate 3 3 any  press  8.35 6    19    12.5 15   35   12    15   9.5   nickel 14:1
T10 plate 3 3 any  press  8.35 6    19    12.5 15   35.7 12    15   9.5   nickel 14:1
T11 slot  3 3 any  none   -    6    -     -    -    35   12    15   8     nickel 16:1
T12 slot  3 3 any  none   -    10   -     -    -    35   14    16   8     gold   16:1
T13 solo  6 6 any  press  8.35 6    20    12.5 15   -    14    14   9.5   nickel 16:1
T14 solo  3 3 RH   thread 9.8  6    21.5  12   16.5 -    14.5  15.5 9.5   black  34/27/21/16/19/13
T15 solo  3 3 LH   thread 9.8  6    21.5  12   16.5 -    14.5  15.5 9.5   black  34/27/21/16/19/13
T16 solo  3 3 any  press  8.8  6    21    13   15.5 -    15    15.5 9.5   nickel 16:1
"""

NUTS = """
key strings hand width spread pair_gap
N01 6       RH   44.5  38.1   -
N02 6       LH   44.5  38.1   -
N03 12      RH   47.6  -      2
N04 6       RH   52    -      -
N05 6       RH   43    36.6   -
"""

SADDLES = """
key strings hand thickness length height
S01 6       RH   3.16      72     11
S02 6       LH   3.16      72     11
S03 6       RH   2.35      72     11
S04 12      RH   3.16      80     11
S05 6       any  2.45      80     12
"""

PINS = """
key count taper collar slotted
P01 6     3     5.4    yes
P02 6     5     5.35   yes
P03 12    3     5.4    yes
P04 6     3     5.4    no
"""

TAILS = """
key kind hole grip_min grip_max
E01 pin  10.5 -        -
E02 jack 12   8        34
E03 jack 12.7 8        34
"""

STRAPS = """
key metal  screw length pilot
E04 nickel 4.2   25     3
E05 black  4.2   25     3
E06 chrome 4.2   25     3
E07 gold   4.2   25     3
"""

GUARDS = """
key hand
G01 RH
G02 LH
"""

ELECTRONICS = """
key element battery
X01 1       9V
"""

BATTERIES = """
key kind
V01 9V
"""

# scale: that the tension was computed for.
STRINGS = """
key count material tension scale
R01 6     steel    734     645
R02 12    steel    1120    645
R03 6     nylon    370     645
R04 6     steel    818     645
"""

# In thousandths of an inch, as string sets are sold; usual sets, common practice, no source.
GAUGES = """
key 1  1' 2  2' 3  3o 4  4o 5  5o 6  6o
R01 12 -  16 -  24 -  32 -  42 -  53 -
R02 10 10 14 14 23 8  30 12 39 18 47 27
R03 28 -  32 -  40 -  29 -  35 -  43 -
R04 13 -  17 -  26 -  35 -  45 -  56 -
"""

# Deviations in micrometres.
TOLERANCES = """
of   dimension            lower upper
T06  bushing_od_mm        -20   0
S01  thickness_mm         -10   0
N01  width_mm             -50   50
TARN saddle_slot_width_mm 0     20
TARN peghead_mm           -200  200
HOLM bushing_hole_mm      0     15
HOLM saddle_slot_width_mm 0     20
FELL peghead_mm           -200  200
"""

WOODS = """
key    coat      top                back_and_sides            fingerboard
TARN   lacquer   Picea_sitchensis   Entandrophragma_cylindricum Dalbergia_latifolia
HOLM   polyester Picea_sitchensis   Acer_saccharum            Diospyros_crassiflora
NESS   lacquer   Picea_engelmannii  Juglans_nigra             Dalbergia_latifolia
FIRTH  lacquer   Picea_sitchensis   Dalbergia_latifolia       Diospyros_crassiflora
WOLD   polyester Picea_sitchensis   Acer_saccharum            Dalbergia_nigra
SKERRY polyester Picea_sitchensis   Entandrophragma_cylindricum Acer_saccharum
FELL   lacquer   Picea_sitchensis   Prunus_serotina           Dalbergia_latifolia
VOE    lacquer   Thuja_plicata      Entandrophragma_cylindricum Diospyros_crassiflora
"""

# What each operation measures, in the order it is asked.
MEASURED = """
operation measures
N10 peghead
N40 hole
N60 worm,turns,torque,pilot,collar
B30 tail_hole,tail_block
G50 saddle_slot
G10 bridge_place
U10 nut_slot,first_fret
U30 proud,action
A20 strap
A30 octave,relief,action,octave_off
I10 relief,action
I30 relief,action
Z10 insulated
"""

# Inside: overall, body length, width, depth.
CASES = """
key overall body width depth
C01 1060    512  406   130
C02 1030    486  366   112
C03 1110    512  406   130
"""

# hole: for the bushing; post: through hole, or side hole of a slotted head.
HEADS = """
key    hand strings head    tuners bushing hole post peghead pitch spacing wall metal  nut
TARN   RH   6       solid   solo   press   8.73 6.4  14.5    38    -       -    nickel 44.5
HOLM   RH   6       solid   solo   thread  10   10   14.5    38    -       -    black  44.5
NESS   RH   6       slotted slot   none    -    6.4  18      35    35      13   nickel 44.5
FIRTH  RH   12      solid   solo   press   8.3  6.4  14      23    -       -    nickel 47.6
WOLD   LH   6       solid   solo   thread  10   10   14.5    38    -       -    black  44.5
SKERRY RH   6       solid   line   thread  10   10   13.5    25    -       -    chrome 43
FELL   RH   6       solid   plate  press   8.3  6.4  13.5    35    35      -    nickel 43
VOE    RH   6       slotted slot   none    -    10.4 20      35    35      14   gold   52
"""

# slot: the saddle's; taper, slotted: the pins; block: the tail block.
BODIES = """
key    slot_w slot_l taper slotted tail tail_hole block guard battery strings limit_n
TARN   3.2    72     3     yes     pin  10.5      20    RH    -       steel   830
HOLM   3.2    72     3     yes     jack 12        20    RH    9V      steel   830
NESS   3.2    72     3     yes     pin  10.5      18    -     -       steel   760
FIRTH  3.2    80     3     yes     pin  10.5      20    RH    -       steel   1250
WOLD   3.2    72     3     yes     jack 12        20    LH    9V      steel   830
SKERRY 3.2    72     5     yes     jack 12        20    -     9V      steel   830
FELL   3.2    72     5     yes     pin  10.5      20    RH    -       steel   830
VOE    2.5    80     -     -       -    -         20    -     -       nylon   420
"""

SIZES = """
key    overall length width depth scale joint_fret kit
TARN   1045    505    400   124   645   14         T01+N01+S01+P01+E01+E04+G01+R01+C01
HOLM   1045    505    400   120   645   14         T06+N01+S01+P01+E02+E05+G01+X01+V01+R01+C01
NESS   1010    480    360   106   632   12         T11+N01+S01+P01+E01+R01+C02
FIRTH  1095    505    400   124   645   14         T13+N03+S04+P03+E01+E04+G01+R02+C03
WOLD   1045    505    400   124   645   14         T15+N02+S02+P01+E02+E05+G02+X01+V01+R01+C01
SKERRY 1050    505    400   118   645   14         T07+N05+S01+P02+E02+E06+X01+V01+R01+C01
FELL   1045    505    400   124   645   14         T09+N05+S01+P02+E01+E04+G01+R01+C01
VOE    1005    483    363   104   650   12         T12+N04+S05+R03+C02
"""

# What a set-up aims at, each said; the rest is left to what is usual for its kind.
SET_UPS = """
key    relief bass treble
TARN   0.2    2.4  1.6
HOLM   0.2    2.4  1.6
NESS   0.18   2.3  1.6
FIRTH  0.25   2.3  1.6
WOLD   0.2    2.4  1.6
SKERRY 0.2    2.4  1.6
FELL   0.2    2.4  1.6
VOE    0.2    4    3
"""

# Class and pack: how an item is counted and ordered.
STOCK = """
key bin  on_hand reserved least class pack
T01 A-01 14      6        10    B     1
T02 A-02 3       1        2     A     1
T03 A-03 6       0        2     B     1
T04 A-04 4       0        2     B     1
T05 A-05 22      9        12    B     1
T06 A-06 9       4        6     B     1
T07 A-07 5       2        4     B     1
T08 A-08 2       0        1     B     1
T09 B-01 18      7        10    B     1
T10 B-02 6       0        0     B     1
T11 B-03 7       3        4     B     1
T12 B-04 8       3        4     A     1
T13 B-05 4       2        3     B     1
T14 B-06 6       1        3     A     1
T15 B-07 2       1        1     A     1
T16 A-09 5       0        2     B     1
N01 C-01 30      8        12    B     10
N02 C-02 4       1        2     B     1
N03 C-03 5       2        3     B     1
N04 C-04 8       3        4     B     1
N05 C-05 16      9        8     C     1
S01 C-06 28      8        12    B     10
S02 C-07 4       1        2     B     1
S03 C-08 9       0        2     B     1
S04 C-09 5       2        3     B     1
S05 C-10 8       3        4     B     1
P01 C-11 40      9        15    B     10
P02 C-12 60      7        20    C     10
P03 C-13 6       2        3     B     1
P04 C-14 10      0        4     B     1
E01 D-01 34      12       12    C     10
E02 D-02 11      5        6     B     1
E03 D-03 3       0        2     B     1
E04 D-04 40      14       15    C     20
E05 D-05 14      5        6     C     10
E06 D-06 18      6        6     C     10
E07 D-07 4       1        2     A     1
G01 D-08 31      11       12    C     10
G02 D-09 3       1        2     C     1
X01 D-10 10      5        5     A     1
V01 D-11 24      5        10    C     10
R01 E-01 90      20       40    C     12
R02 E-02 8       2        6     C     6
R03 E-03 14      3        6     C     6
R04 E-04 25      2        10    C     12
C01 F-01 12      7        8     B     1
C02 F-02 9       4        6     B     1
C03 F-03 4       2        3     B     1
"""

# due: days from the day of loading.
DELIVERIES = """
item quantity due order
T01  12       1   B-2291
T02  4        3   B-2287
T06  6        9   B-2291
X01  5        7   B-2290
R02  12       -1  B-2279
C01  8        4   B-2288
"""

ORDERS = """
ref    spec quantity due agreed
C-0431 TARN 6        28  -
S-0019 VOE  1        35  yes
"""


def rows(table: str) -> list[dict[str, str]]:
    """Each line of a table under its column's name."""
    head, *lines = (line.split() for line in table.strip().splitlines())
    return [dict(zip(head, line, strict=True)) for line in lines]
