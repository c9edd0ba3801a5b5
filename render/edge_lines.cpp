#include "render/edge_lines.h"

#include <vtkCamera.h>
#include <vtkCellArray.h>
#include <vtkMatrix4x4.h>
#include <vtkPlane.h>
#include <vtkPointData.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#include <vtkProperty.h>
#include <vtkUnsignedCharArray.h>

#include <array>
#include <cmath>
#include <utility>

#include "core/base/units.h"
#include "render/ordered_renderer.h"

namespace macle::render {

namespace {

constexpr double kInner_px = 1.15;
constexpr double kOutline_px = 1.9;
constexpr double kFeather_px = 0.65;  // half the fade from full to nothing
// Towards the viewer. Every edge drawn has a face towards the viewer, so nothing hidden can come
// through by it.
constexpr double kLift_px = 4.0;

class Ribbons {
  public:
    explicit Ribbons(const Rgb& colour) {
        for (std::size_t k = 0; k < 3; ++k)
            colour_[k] = static_cast<unsigned char>(std::lround(255.0 * colour[k]));
        points_->SetDataTypeToFloat();
        colours_->SetNumberOfComponents(4);
    }

    // `across` is one pixel sideways, `along` one pixel lengthways.
    void add(const Segment& line, const Eigen::Vector3d& across, const Eigen::Vector3d& along,
             double width_px) {
        const double half = 0.5 * width_px;
        const std::array<double, 4> offsets = {
            -half - kFeather_px, -std::max(half - kFeather_px, 0.0),
            std::max(half - kFeather_px, 0.0), half + kFeather_px};
        // A line narrower than its fade is fainter instead of wider.
        const double full = std::min(1.0, width_px / (2.0 * kFeather_px));
        const std::array<double, 4> shares = {0.0, full, full, 0.0};
        // Ends reach half a width beyond the corner, so that lines meet without a notch.
        const std::array<Eigen::Vector3d, 4> stations = {
            line.from - (half + kFeather_px) * along, line.from - (half - kFeather_px) * along,
            line.to + (half - kFeather_px) * along, line.to + (half + kFeather_px) * along};
        const std::array<double, 4> ends = {0.0, 1.0, 1.0, 0.0};
        std::array<std::array<vtkIdType, 4>, 4> ids{};
        for (std::size_t s = 0; s < 4; ++s) {
            for (std::size_t k = 0; k < 4; ++k) {
                const Eigen::Vector3d at = stations[s] + offsets[k] * across;
                ids[s][k] = points_->InsertNextPoint(at.data());
                const unsigned char rgba[4] = {
                    colour_[0], colour_[1], colour_[2],
                    static_cast<unsigned char>(std::lround(255.0 * shares[k] * ends[s]))};
                colours_->InsertNextTypedTuple(rgba);
            }
        }
        for (std::size_t s = 0; s < 3; ++s) {
            for (std::size_t k = 0; k < 3; ++k) {
                const vtkIdType quad[4] = {ids[s][k], ids[s + 1][k], ids[s + 1][k + 1],
                                           ids[s][k + 1]};
                cells_->InsertNextCell(4, quad);
            }
        }
    }

    vtkSmartPointer<vtkPolyData> data() const {
        auto data = vtkSmartPointer<vtkPolyData>::New();
        data->SetPoints(points_);
        data->SetPolys(cells_);
        data->GetPointData()->SetScalars(colours_);
        return data;
    }

  private:
    std::array<unsigned char, 3> colour_{};
    vtkNew<vtkPoints> points_;
    vtkNew<vtkCellArray> cells_;
    vtkNew<vtkUnsignedCharArray> colours_;
};

}  // namespace

// The viewer in the frame of the edges.
struct EdgeLines::View {
    Eigen::Vector3d place = Eigen::Vector3d::Zero();  // the eye, or the direction towards it
    bool parallel = true;
    double pixel = 1.0;  // length of one: at the edge, or at distance 1 from the eye

    Eigen::Vector3d towards(const Eigen::Vector3d& point) const {
        return parallel ? place : Eigen::Vector3d(place - point);
    }
};

EdgeLines::EdgeLines(vtkMatrix4x4* matrix) : matrix_(matrix) {
    mapper_->SetColorModeToDirectScalars();
    mapper_->SetScalarModeToUsePointData();
    mapper_->SetInputData(vtkSmartPointer<vtkPolyData>::New());
    actor_->SetMapper(mapper_);
    actor_->GetProperty()->LightingOff();
    actor_->VisibilityOff();
    actor_->PickableOff();
    if (matrix_ != nullptr) actor_->SetUserMatrix(matrix_);
}

void EdgeLines::addTo(OrderedRenderer& renderer) {
    renderer.AddActor(actor_);
}

void EdgeLines::setEdges(std::vector<FacetEdge> edges) {
    edges_ = std::move(edges);
    stale_ = true;
}

void EdgeLines::setColour(const Rgb& colour) {
    colour_ = colour;
    stale_ = true;
}

void EdgeLines::setWidth(double width_px) {
    width_px_ = width_px;
    stale_ = true;
}

void EdgeLines::setVisible(bool visible) {
    visible_ = visible;
    stale_ = true;
}

void EdgeLines::clip(vtkPlane* plane) {
    mapper_->RemoveAllClippingPlanes();
    if (plane != nullptr) mapper_->AddClippingPlane(plane);
}

EdgeLines::View EdgeLines::viewOf(vtkRenderer& renderer) const {
    vtkCamera& camera = *renderer.GetActiveCamera();
    const double height_px = std::max(renderer.GetSize()[1], 1);
    View view;
    view.parallel = camera.GetParallelProjection() != 0;
    double place[4] = {0.0, 0.0, 0.0, view.parallel ? 0.0 : 1.0};
    if (view.parallel) {
        camera.GetDirectionOfProjection(place);
        for (double& value : place)
            value = -value;
        view.pixel = 2.0 * camera.GetParallelScale() / height_px;
    } else {
        camera.GetPosition(place);
        view.pixel = 2.0 * std::tan(0.5 * radians(camera.GetViewAngle())) / height_px;
    }
    if (matrix_ != nullptr) {
        vtkNew<vtkMatrix4x4> inverse;
        vtkMatrix4x4::Invert(matrix_, inverse);
        inverse->MultiplyPoint(place, place);
        // The matrix turns, moves and scales alike in all directions.
        if (view.parallel) view.pixel *= std::cbrt(std::abs(inverse->Determinant()));
    }
    view.place = Eigen::Vector3d(place[0], place[1], place[2]);
    if (view.parallel) view.place.normalize();
    return view;
}

void EdgeLines::follow(vtkRenderer& renderer, double pixelRatio) {
    const bool shown = visible_ && !edges_.empty();
    actor_->SetVisibility(shown);
    if (!shown) return;
    const View view = viewOf(renderer);
    const std::vector<double> wanted = {
        view.place.x(), view.place.y(), view.place.z(), view.pixel, view.parallel ? 1.0 : 0.0,
        pixelRatio};
    if (!stale_ && wanted == drawnFor_) return;
    stale_ = false;
    drawnFor_ = wanted;
    build(view, pixelRatio);
}

void EdgeLines::build(const View& view, double pixelRatio) {
    Ribbons ribbons(colour_);
    for (const FacetEdge& edge : edges_) {
        Eigen::Vector3d towards = view.towards(edge.line.from);
        const bool one = edge.normal.dot(towards) > 0.0;
        const bool other = edge.otherNormal.dot(towards) > 0.0;
        const bool outline = one != other;
        if (!outline && !(edge.drawnInside && one)) continue;
        const double pixel = pixelRatio * view.pixel * (view.parallel ? 1.0 : towards.norm());
        towards.normalize();
        const Eigen::Vector3d along = (edge.line.to - edge.line.from).normalized();
        Eigen::Vector3d across = along.cross(towards);
        if (across.norm() < 1e-9) continue;  // seen end on
        across.normalize();
        const Eigen::Vector3d lift = kLift_px * pixel * towards;
        // One pixel on the screen, however much the line runs in depth.
        const Eigen::Vector3d lengthways = towards.cross(across).normalized();
        ribbons.add(
            {edge.line.from + lift, edge.line.to + lift}, pixel * across,
            pixel * (lengthways.dot(along) < 0.0 ? Eigen::Vector3d(-lengthways) : lengthways),
            width_px_.value_or(outline ? kOutline_px : kInner_px));
    }
    mapper_->SetInputData(ribbons.data());
}

}  // namespace macle::render
