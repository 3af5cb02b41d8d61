"""wiregen: checks, computes and draws low-voltage DC vehicle wiring from a plain-text netlist.

From the text of a job to its findings and its drawing, one room after another. Each step gives its result and its
findings; nothing that a netlist says raises.

>>> from wiregen.circuit import study
>>> from wiregen.drawing import draw
>>> from wiregen.layout import lay_out
>>> from wiregen.model import read
>>> from wiregen.rules import check
>>> text = '''
... battery b 70 Ah agm
... fuse F1 10 A blade
... load pump 5 A
... b.+ --[W1 red 1.5 mm2 150 mm]-- F1 --[W2 red 0.5 mm2 3 m]-- pump.+
... b.- --[W3 black 1.5 mm2 3 m]-- pump.-
... '''
>>> job, mistakes = read("pump.wnet", text=text)
>>> mistakes
()
>>> computed, _ = study(job)
>>> [(finding.rule, finding.subject) for finding in check(computed) if finding.severity == "danger"]
[('oversized-fuse', 'W2')]
>>> geometry, _ = lay_out(computed)
>>> draw(geometry)[0][:4]
'<svg'
"""

__version__ = "0.1.0"
