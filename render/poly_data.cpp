#include "render/poly_data.h"

#include <vtkCellArray.h>
#include <vtkFloatArray.h>
#include <vtkIdList.h>
#include <vtkPointData.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#include <vtkPolyDataNormals.h>
#include <vtkUnsignedCharArray.h>

#include <cmath>

namespace macle::render {

vtkSmartPointer<vtkPolyData> bareSurface(const TriangleMesh& mesh) {
    auto points = vtkSmartPointer<vtkPoints>::New();
    points->SetDataTypeToFloat();
    points->SetNumberOfPoints(static_cast<vtkIdType>(mesh.vertices.size()));
    vtkIdType next = 0;
    for (const Eigen::Vector3d& vertex : mesh.vertices)
        points->SetPoint(next++, vertex.data());
    auto cells = vtkSmartPointer<vtkCellArray>::New();
    cells->AllocateExact(static_cast<vtkIdType>(mesh.triangles.size()),
                         static_cast<vtkIdType>(3 * mesh.triangles.size()));
    for (const auto& triangle : mesh.triangles) {
        const vtkIdType ids[3] = {triangle[0], triangle[1], triangle[2]};
        cells->InsertNextCell(3, ids);
    }
    auto data = vtkSmartPointer<vtkPolyData>::New();
    data->SetPoints(points);
    data->SetPolys(cells);
    return data;
}

vtkSmartPointer<vtkPolyData> smoothSurface(const TriangleMesh& mesh, double crease_deg) {
    if (mesh.empty()) return vtkSmartPointer<vtkPolyData>::New();
    auto normals = vtkSmartPointer<vtkPolyDataNormals>::New();
    normals->SetInputData(bareSurface(mesh));
    normals->SetFeatureAngle(crease_deg);
    normals->SplittingOn();
    normals->ConsistencyOff();  // core meshes are oriented already
    normals->AutoOrientNormalsOff();
    normals->Update();
    return normals->GetOutput();
}

vtkSmartPointer<vtkPolyData> flatFaces(const std::vector<ConvexSolid>& parts) {
    auto points = vtkSmartPointer<vtkPoints>::New();
    points->SetDataTypeToFloat();
    auto normals = vtkSmartPointer<vtkFloatArray>::New();
    normals->SetNumberOfComponents(3);
    normals->SetName("Normals");
    auto cells = vtkSmartPointer<vtkCellArray>::New();
    for (const ConvexSolid& part : parts) {
        for (const SolidFace& face : part.faces) {
            // Newell's sum is safe for any number of corners, nearly straight ones too.
            Eigen::Vector3d normal = Eigen::Vector3d::Zero();
            const std::size_t count = face.corners.size();
            const auto corner = [&](std::size_t index) -> const Eigen::Vector3d& {
                return part.vertices.at(static_cast<std::size_t>(face.corners[index % count]));
            };
            for (std::size_t i = 0; i < count; ++i)
                normal += corner(i).cross(corner(i + 1));
            normal.normalize();
            cells->InsertNextCell(static_cast<int>(count));
            for (std::size_t i = 0; i < count; ++i) {
                cells->InsertCellPoint(points->InsertNextPoint(corner(i).data()));
                normals->InsertNextTuple(normal.data());
            }
        }
    }
    auto data = vtkSmartPointer<vtkPolyData>::New();
    data->SetPoints(points);
    data->SetPolys(cells);
    data->GetPointData()->SetNormals(normals);
    return data;
}

vtkSmartPointer<vtkPolyData> segmentLines(const std::vector<Segment>& segments) {
    auto points = vtkSmartPointer<vtkPoints>::New();
    points->SetDataTypeToFloat();
    auto lines = vtkSmartPointer<vtkCellArray>::New();
    for (const Segment& segment : segments) {
        const vtkIdType ids[2] = {points->InsertNextPoint(segment.from.data()),
                                  points->InsertNextPoint(segment.to.data())};
        lines->InsertNextCell(2, ids);
    }
    auto data = vtkSmartPointer<vtkPolyData>::New();
    data->SetPoints(points);
    data->SetLines(lines);
    return data;
}

vtkSmartPointer<vtkPolyData> pointCloud(const std::vector<ColouredPoint>& points) {
    auto places = vtkSmartPointer<vtkPoints>::New();
    places->SetDataTypeToFloat();
    auto cells = vtkSmartPointer<vtkCellArray>::New();
    auto colours = vtkSmartPointer<vtkUnsignedCharArray>::New();
    colours->SetNumberOfComponents(3);
    for (const ColouredPoint& point : points) {
        const vtkIdType id = places->InsertNextPoint(point.at.data());
        cells->InsertNextCell(1, &id);
        unsigned char rgb[3];
        for (std::size_t k = 0; k < 3; ++k)
            rgb[k] = static_cast<unsigned char>(std::lround(255.0 * point.colour[k]));
        colours->InsertNextTypedTuple(rgb);
    }
    auto data = vtkSmartPointer<vtkPolyData>::New();
    data->SetPoints(places);
    data->SetVerts(cells);
    data->GetPointData()->SetScalars(colours);
    return data;
}

}  // namespace macle::render
