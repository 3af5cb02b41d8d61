"""kit-changed: an included library is not of the revision that the job was checked against.

Hazard
    What a kit fits, how thick, how long, how fused, may have changed under a job that nobody looked at again.
Test
    Said while the text is read: each `include "..." revision N` against what the library says of itself.
Basis
    common practice: a record names the revision of what it builds on
Bad
    include "kits/feed.wnet" revision 1
    fused-lead T1 20 A
    start.+ -- T1 --[W2 red 6 mm2 1 m]-- heater.+
    heater.- --[W3 black 6 mm2 1 m]-- start.-
Good
    include "kits/feed.wnet" revision 2
    fused-lead T1 20 A
    start.+ -- T1 --[W2 red 6 mm2 1 m]-- heater.+
    heater.- --[W3 black 6 mm2 1 m]-- start.-
Limits
    An include that pins no revision is not compared.
"""
