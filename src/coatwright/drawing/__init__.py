"""The coat picture and the charts as SVG: geometry and numbers first, then writers that only write them down.

``figure`` gives a dog to draw on, ``roots`` and ``strokes`` the hairs as plain arrays, ``coat_picture`` writes
them. ``layer_chart``, ``ribbons`` and ``cover_strip`` each come with a table of the same in words.
"""
