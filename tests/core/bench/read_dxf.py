"""Reads a DXF with ezdxf and tells, a line for each entity, what it holds. Exit 77: no ezdxf."""
import math
import sys

try:
    import ezdxf
except ImportError:
    sys.exit(77)

drawing = ezdxf.readfile(sys.argv[1])
faults = drawing.audit().errors
print("version", drawing.dxfversion)
print("faults", len(faults))
print("layers", *sorted(layer.dxf.name for layer in drawing.layers))
for entity in drawing.modelspace():
    if entity.dxftype() != "POLYLINE":
        print("other", entity.dxftype())
        continue
    points = [vertex.dxf.location for vertex in entity.vertices]
    turn = points[1:] + points[:1] if entity.is_closed else points[1:]
    length = sum(math.dist(a, b) for a, b in zip(points, turn))
    print("loop", entity.dxf.layer, int(entity.is_closed), int(entity.is_3d_polyline), len(points), repr(length))
    for point in points:
        print("point", repr(point.x), repr(point.y), repr(point.z))
