#include "render/soft_strokes.h"

#include <vtkCellArray.h>
#include <vtkPointData.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#include <vtkPolyDataMapper2D.h>
#include <vtkUnsignedCharArray.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

namespace macle::render {

namespace {

constexpr double kFeather_px = 0.7;  // half the fade from full to nothing

// Distances from the middle of a stroke and how opaque it is there.
struct Profile {
    std::array<double, 4> offset;
    std::array<double, 4> share{0.0, 1.0, 1.0, 0.0};
};

Profile profile(double width_px) {
    const double half = 0.5 * width_px;
    const double inner = std::max(half - kFeather_px, 0.0);
    const double outer = half + kFeather_px;
    return {{-outer, -inner, inner, outer}};
}

// Across a line with a halo, in order.
struct Stop {
    double offset;
    Rgb colour;
    double opacity;
};

std::array<Stop, 8> haloStops(double width_px, const Rgb& colour, double halo_px, const Rgb& halo) {
    const double core = 0.5 * width_px;
    const double all = core + halo_px;
    return {{{-all - kFeather_px, halo, 0.0},
             {-all + kFeather_px, halo, 1.0},
             {-core - kFeather_px, halo, 1.0},
             {-core + kFeather_px, colour, 1.0},
             {core - kFeather_px, colour, 1.0},
             {core + kFeather_px, halo, 1.0},
             {all - kFeather_px, halo, 1.0},
             {all + kFeather_px, halo, 0.0}}};
}

unsigned char byte(double value) {
    return static_cast<unsigned char>(std::lround(255.0 * std::clamp(value, 0.0, 1.0)));
}

}  // namespace

SoftStrokes::SoftStrokes() {
    colours_->SetNumberOfComponents(4);
    vtkNew<vtkPolyDataMapper2D> mapper;
    mapper->SetInputData(data_);
    mapper->SetScalarModeToUsePointData();
    mapper->SetColorModeToDirectScalars();
    actor_->SetMapper(mapper);
    finish();
}

SoftStrokes::~SoftStrokes() = default;

void SoftStrokes::clear() {
    points_->Reset();
    cells_->Reset();
    colours_->Reset();
}

vtkIdType SoftStrokes::corner(const Eigen::Vector2d& at, const Rgb& colour, double opacity) {
    const unsigned char rgba[4] = {byte(colour[0]), byte(colour[1]), byte(colour[2]),
                                   byte(opacity)};
    colours_->InsertNextTypedTuple(rgba);
    return points_->InsertNextPoint(at.x(), at.y(), 0.0);
}

void SoftStrokes::quad(vtkIdType a, vtkIdType b, vtkIdType c, vtkIdType d) {
    const vtkIdType first[3] = {a, b, c};
    const vtkIdType second[3] = {a, c, d};
    cells_->InsertNextCell(3, first);
    cells_->InsertNextCell(3, second);
}

void SoftStrokes::line(const Eigen::Vector2d& from, const Eigen::Vector2d& to, double width_px,
                       const Rgb& colour, double opacity) {
    Eigen::Vector2d direction = to - from;
    if (direction.norm() < 1e-9) return;
    direction.normalize();
    const Eigen::Vector2d across(-direction.y(), direction.x());
    const Profile shape = profile(width_px);
    // Along the line: faded ends, so that a slanted end is smooth too.
    const std::array<Eigen::Vector2d, 4> stations = {
        from - kFeather_px * direction, from + kFeather_px * direction,
        to - kFeather_px * direction, to + kFeather_px * direction};
    std::array<std::array<vtkIdType, 4>, 4> ids{};
    for (std::size_t s = 0; s < 4; ++s) {
        for (std::size_t k = 0; k < 4; ++k) {
            ids[s][k] = corner(stations[s] + shape.offset[k] * across, colour,
                               opacity * shape.share[k] * shape.share[s]);
        }
    }
    for (std::size_t s = 0; s + 1 < 4; ++s)
        for (std::size_t k = 0; k + 1 < 4; ++k)
            quad(ids[s][k], ids[s + 1][k], ids[s + 1][k + 1], ids[s][k + 1]);
}

void SoftStrokes::path(const std::vector<Eigen::Vector2d>& points, double width_px,
                       const Rgb& colour, double halo_px, const Rgb& halo) {
    if (points.size() < 2) return;
    const std::array<Stop, 8> stops = haloStops(width_px, colour, halo_px, halo);
    // Across the path at each point; at a joint along the mitre, and longer by it.
    struct Station {
        Eigen::Vector2d at;
        Eigen::Vector2d across;
        int state;  // 0: nothing, 1: halo, 2: the line
    };
    const auto direction = [&](std::size_t segment) {
        return Eigen::Vector2d((points[segment + 1] - points[segment]).normalized());
    };
    const auto left = [](const Eigen::Vector2d& v) { return Eigen::Vector2d(-v.y(), v.x()); };
    std::vector<Station> stations;
    const std::array<std::pair<double, int>, 4> end = {{{-halo_px - kFeather_px, 0},
                                                        {-halo_px + kFeather_px, 1},
                                                        {-kFeather_px, 1},
                                                        {kFeather_px, 2}}};
    const Eigen::Vector2d first = direction(0);
    for (const auto& [offset, state] : end)
        stations.push_back({points.front() + offset * first, left(first), state});
    for (std::size_t k = 1; k + 1 < points.size(); ++k) {
        const Eigen::Vector2d before = left(direction(k - 1));
        const Eigen::Vector2d mitre = (before + left(direction(k))).normalized();
        stations.push_back({points[k], mitre / std::max(mitre.dot(before), 0.25), 2});
    }
    const Eigen::Vector2d last = direction(points.size() - 2);
    for (auto step = end.rbegin(); step != end.rend(); ++step)
        stations.push_back({points.back() - step->first * last, left(last), step->second});

    std::vector<std::array<vtkIdType, 8>> ids;
    for (const Station& station : stations) {
        std::array<vtkIdType, 8> row{};
        for (std::size_t k = 0; k < stops.size(); ++k) {
            const Stop& stop = stops[k];
            row[k] = corner(station.at + stop.offset * station.across,
                            station.state == 2 ? stop.colour : halo,
                            station.state == 0 ? 0.0 : stop.opacity);
        }
        ids.push_back(row);
    }
    for (std::size_t s = 0; s + 1 < ids.size(); ++s)
        for (std::size_t k = 0; k + 1 < stops.size(); ++k)
            quad(ids[s][k], ids[s + 1][k], ids[s + 1][k + 1], ids[s][k + 1]);
}

void SoftStrokes::ring(const Eigen::Vector2d& centre, double radius_px, double width_px,
                       const Rgb& colour, double halo_px, const Rgb& halo) {
    constexpr std::size_t kSteps = 64;
    const std::array<Stop, 8> stops = haloStops(width_px, colour, halo_px, halo);
    std::array<std::array<vtkIdType, 8>, kSteps> ids{};
    for (std::size_t step = 0; step < kSteps; ++step) {
        const double angle = 2.0 * std::numbers::pi * static_cast<double>(step) / kSteps;
        const Eigen::Vector2d out(std::cos(angle), std::sin(angle));
        for (std::size_t k = 0; k < stops.size(); ++k)
            ids[step][k] = corner(centre + (radius_px + stops[k].offset) * out, stops[k].colour,
                                  stops[k].opacity);
    }
    for (std::size_t step = 0; step < kSteps; ++step) {
        const auto& here = ids[step];
        const auto& next = ids[(step + 1) % kSteps];
        for (std::size_t k = 0; k + 1 < stops.size(); ++k)
            quad(here[k], here[k + 1], next[k + 1], next[k]);
    }
}

void SoftStrokes::finish() {
    data_->SetPoints(points_);
    data_->SetPolys(cells_);
    data_->GetPointData()->SetScalars(colours_);
    points_->Modified();
    cells_->Modified();
    colours_->Modified();
    data_->Modified();
    actor_->SetVisibility(points_->GetNumberOfPoints() > 0);
}

}  // namespace macle::render
