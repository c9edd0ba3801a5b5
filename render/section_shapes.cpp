#include "render/section_shapes.h"

#include <vtkCellArray.h>
#include <vtkContourTriangulator.h>
#include <vtkNew.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>

#include <algorithm>
#include <map>
#include <utility>

#include "render/facet_edges.h"

namespace macle::render {

namespace {

using Link = std::pair<std::uint32_t, std::uint32_t>;

struct Outline {
    std::vector<Eigen::Vector3d> points;
    std::vector<Link> links;  // the area on their left seen from the cut-away side
    bool closed = true;
};

// Each edge that crosses the plane gives one point, so that the outline of a closed mesh is closed
// by construction; a corner on the plane counts as above it.
Outline outlineOf(const TriangleMesh& mesh, const CutPlane& plane) {
    std::vector<double> above;
    above.reserve(mesh.vertices.size());
    for (const Eigen::Vector3d& vertex : mesh.vertices)
        above.push_back(plane.normal.dot(vertex) - plane.offset_mm);
    Outline outline;
    std::map<Link, std::uint32_t> crossings;
    const auto crossing = [&](std::uint32_t a, std::uint32_t b) {
        const auto [place, fresh] = crossings.try_emplace(
            std::minmax(a, b), static_cast<std::uint32_t>(outline.points.size()));
        if (fresh) {
            const double share = above[a] / (above[a] - above[b]);
            outline.points.push_back(mesh.vertices[a] +
                                     share * (mesh.vertices[b] - mesh.vertices[a]));
        }
        return place->second;
    };
    std::vector<int> balance;
    for (const auto& triangle : mesh.triangles) {
        for (std::size_t k = 0; k < 3; ++k) {
            const std::uint32_t a = triangle[k];
            const std::uint32_t b = triangle[(k + 1) % 3];
            const std::uint32_t c = triangle[(k + 2) % 3];
            const bool lone =
                (above[a] >= 0.0) != (above[b] >= 0.0) && (above[b] >= 0.0) == (above[c] >= 0.0);
            if (!lone) continue;
            Link link{crossing(a, b), crossing(a, c)};
            if (above[a] >= 0.0) std::swap(link.first, link.second);
            outline.links.push_back(link);
            break;
        }
    }
    balance.assign(outline.points.size(), 0);
    for (const Link& link : outline.links) {
        ++balance[link.first];
        --balance[link.second];
    }
    outline.closed = std::all_of(balance.begin(), balance.end(), [](int sum) { return sum == 0; });
    return outline;
}

TriangleMesh areaInside(const Outline& outline) {
    TriangleMesh area;
    if (!outline.closed || outline.links.size() < 3) return area;
    vtkNew<vtkPoints> points;
    points->SetDataTypeToDouble();
    for (const Eigen::Vector3d& point : outline.points)
        points->InsertNextPoint(point.data());
    vtkNew<vtkCellArray> lines;
    for (const Link& link : outline.links) {
        const vtkIdType ids[2] = {link.first, link.second};
        lines->InsertNextCell(2, ids);
    }
    vtkNew<vtkPolyData> loops;
    loops->SetPoints(points);
    loops->SetLines(lines);
    vtkNew<vtkContourTriangulator> triangulator;
    triangulator->SetInputData(loops);
    triangulator->Update();
    vtkPolyData* filled = triangulator->GetOutput();
    for (vtkIdType i = 0; i < filled->GetNumberOfPoints(); ++i)
        area.vertices.emplace_back(filled->GetPoint(i));
    vtkCellArray* polys = filled->GetPolys();
    polys->InitTraversal();
    vtkIdType count = 0;
    const vtkIdType* ids = nullptr;
    while (polys->GetNextCell(count, ids) != 0) {
        if (count != 3) continue;
        area.triangles.push_back({static_cast<std::uint32_t>(ids[0]),
                                  static_cast<std::uint32_t>(ids[1]),
                                  static_cast<std::uint32_t>(ids[2])});
    }
    return area;
}

std::vector<Segment> segmentsOf(const Outline& outline) {
    std::vector<Segment> segments;
    for (const Link& link : outline.links)
        segments.push_back({outline.points[link.first], outline.points[link.second]});
    return segments;
}

}  // namespace

SectionShape cutMesh(const TriangleMesh& mesh, const CutPlane& plane) {
    const Outline outline = outlineOf(mesh, plane);
    return {areaInside(outline), segmentsOf(outline)};
}

std::vector<Segment> meshOutline(const TriangleMesh& mesh, const CutPlane& plane) {
    return segmentsOf(outlineOf(mesh, plane));
}

SectionShape cutParts(const std::vector<ConvexSolid>& parts, const CutPlane& plane) {
    SectionShape shape;
    for (std::size_t part = 0; part < parts.size(); ++part) {
        const Outline outline = outlineOf(triangulated(parts[part]), plane);
        append(shape.area, areaInside(outline));
        const std::vector<Segment> free = outsideOthers(segmentsOf(outline), parts, part);
        shape.outline.insert(shape.outline.end(), free.begin(), free.end());
    }
    return shape;
}

void append(TriangleMesh& to, const TriangleMesh& from) {
    const auto first = static_cast<std::uint32_t>(to.vertices.size());
    to.vertices.insert(to.vertices.end(), from.vertices.begin(), from.vertices.end());
    for (const auto& triangle : from.triangles)
        to.triangles.push_back({triangle[0] + first, triangle[1] + first, triangle[2] + first});
}

}  // namespace macle::render
