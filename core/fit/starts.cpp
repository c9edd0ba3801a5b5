#include "core/fit/starts.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace macle {

namespace {

constexpr int kSamples = 600;
constexpr int kMostSamples = 20000;
constexpr std::size_t kCentres = 8;
// Climbs in a row that may end in a room already known.
constexpr int kMostIdle = 12;
// A ball inside this many times a room's ball grows into that room: the dodecahedron that stands
// for it reaches 1.26 times as far at its corners as at its faces.
constexpr double kInRoom = 1.12;
constexpr int kFlatFields = 24;          // along an edge of the cube of directions
constexpr double kFlatSpread_deg = 6.0;  // within which directions count as one flat
constexpr double kFlatShare = 0.01;      // of the skin that a flat must hold

double fractionOf(double value) {
    return value - std::floor(value);
}

// Twelve planes of a regular dodecahedron: a ball, roughly.
Design ballLike() {
    Design design;
    design.parts.emplace_back();
    const double phi = std::numbers::phi;
    for (int axis = 0; axis < 3; ++axis)
        for (const double a : {-1.0, 1.0})
            for (const double b : {-phi, phi}) {
                Eigen::Vector3d normal = Eigen::Vector3d::Zero();
                normal[axis] = a;
                normal[(axis + 1) % 3] = b;
                design.parts[0].facets.push_back(
                    {"ball", FacetKind::Other, normal.normalized(), 1.0});
            }
    return design;
}

}  // namespace

Eigen::Quaterniond spreadRotation(std::uint64_t index, std::uint64_t seed) {
    constexpr double kRoot = 1.2207440846057596;
    Draw draw(seed);
    const auto n = static_cast<double>(index + 1);
    const double a = fractionOf(draw.unit() + n / kRoot);
    const double b = fractionOf(draw.unit() + n / (kRoot * kRoot));
    const double c = fractionOf(draw.unit() + n / (kRoot * kRoot * kRoot));
    const double turn = 2.0 * std::numbers::pi;
    const double r1 = std::sqrt(1.0 - a), r2 = std::sqrt(a);
    return Eigen::Quaterniond(r2 * std::cos(turn * c), r1 * std::sin(turn * b),
                              r1 * std::cos(turn * b), r2 * std::sin(turn * c))
        .normalized();
}

std::vector<Eigen::Vector3d> roomyCentres(const ObstacleTree& tree, std::uint64_t seed,
                                          const std::function<bool()>& cancelled,
                                          const std::function<bool()>& hurried,
                                          const std::vector<Wall>& walls,
                                          const ObstacleTree* wallTree) {
    const auto ended = [&] { return cancelled && cancelled(); };
    const auto stop = [&] { return ended() || (hurried && hurried()); };
    const std::vector<PreparedPart> ball = prepareParts(ballLike(), FitRules());
    LocalFit fit(tree, ball, walls, wallTree, stop);
    const Box& box = tree.skinBox();
    Draw shift(mixed(seed, 1, 0));
    const Eigen::Vector3d offset(shift.unit(), shift.unit(), shift.unit());
    std::vector<LocalFit::Place> places;
    for (int i = 0; i < kMostSamples && (i < kSamples || places.empty()); ++i) {
        if (places.empty() ? ended() : stop()) break;
        Eigen::Vector3d point;
        constexpr double kRoot = 1.2207440846057596;
        double ratio = 1.0;
        for (int axis = 0; axis < 3; ++axis) {
            ratio /= kRoot;
            point[axis] =
                box.low[axis] + box.extent()[axis] * fractionOf(offset[axis] + (i + 1) * ratio);
        }
        Pose pose;
        pose.centre_mm = point;
        const LocalFit::Place place = fit.look(pose);
        if (place.triangle >= 0) places.push_back(place);
    }
    std::stable_sort(places.begin(), places.end(),
                     [](const auto& a, const auto& b) { return a.size_mm > b.size_mm; });
    // Climb from places that lie in no room already found; keep what is clearly apart.
    std::vector<LocalFit::Place> rooms;
    Climb rules;
    rules.turning = false;
    rules.lastStep = 1e-3;
    rules.leastGain = 1e-3;
    rules.mostPoses = 60;
    const auto leadsNowhereNew = [&](const LocalFit::Place& place) {
        return std::any_of(rooms.begin(), rooms.end(), [&](const LocalFit::Place& room) {
            const double apart = (room.pose.centre_mm - place.pose.centre_mm).norm();
            return apart < 0.6 * room.size_mm || apart + place.size_mm < kInRoom * room.size_mm;
        });
    };
    const auto isKnown = [&](const LocalFit::Place& found) {
        return std::any_of(rooms.begin(), rooms.end(), [&](const LocalFit::Place& room) {
            return (room.pose.centre_mm - found.pose.centre_mm).norm() < 0.3 * room.size_mm;
        });
    };
    int idle = 0;
    for (const LocalFit::Place& place : places) {
        if (rooms.size() >= 2 * kCentres || idle >= kMostIdle) break;
        if (!rooms.empty() && stop()) break;
        if (leadsNowhereNew(place)) continue;
        const LocalFit::Place room = fit.climb(place, rules);
        ++idle;
        if (isKnown(room)) continue;
        idle = 0;
        rooms.push_back(room);
    }
    std::stable_sort(rooms.begin(), rooms.end(),
                     [](const auto& a, const auto& b) { return a.size_mm > b.size_mm; });
    if (rooms.size() > kCentres) rooms.resize(kCentres);
    std::vector<Eigen::Vector3d> centres;
    for (const LocalFit::Place& room : rooms)
        centres.push_back(room.pose.centre_mm);
    return centres;
}

std::vector<Eigen::Vector3d> flatDirections(const ObstacleTree& tree, std::size_t most) {
    // Areas by direction, in square fields of a cube about the origin.
    std::vector<Eigen::Vector3d> fields(6 * kFlatFields * kFlatFields, Eigen::Vector3d::Zero());
    double skin = 0.0;
    for (const TreeTriangle& t : tree.triangles()) {
        if (t.source != 0) continue;
        const Eigen::Vector3d a(t.corner[0], t.corner[1], t.corner[2]);
        const Eigen::Vector3d b(t.corner[3], t.corner[4], t.corner[5]);
        const Eigen::Vector3d c(t.corner[6], t.corner[7], t.corner[8]);
        const Eigen::Vector3d area = 0.5 * (b - a).cross(c - a);
        const double size = area.norm();
        if (!(size > 0.0)) continue;
        skin += size;
        int axis = 0;
        area.cwiseAbs().maxCoeff(&axis);
        const auto field = [&](double value) {
            const double place = (value / std::abs(area[axis]) + 1.0) * 0.5 * kFlatFields;
            return std::clamp(static_cast<int>(place), 0, kFlatFields - 1);
        };
        const int side = 2 * axis + (area[axis] < 0.0 ? 1 : 0);
        fields[static_cast<std::size_t>((side * kFlatFields + field(area[(axis + 1) % 3])) *
                                            kFlatFields +
                                        field(area[(axis + 2) % 3]))] += area;
    }
    // The fullest field with those around it is one flat; then the next.
    std::vector<Eigen::Vector3d> flats;
    const double cosine = std::cos(kFlatSpread_deg * std::numbers::pi / 180.0);
    while (flats.size() < most) {
        const auto fullest = std::max_element(
            fields.begin(), fields.end(),
            [](const auto& a, const auto& b) { return a.squaredNorm() < b.squaredNorm(); });
        if (!(fullest->norm() > 0.0)) break;
        const Eigen::Vector3d middle = fullest->normalized();
        Eigen::Vector3d sum = Eigen::Vector3d::Zero();
        for (Eigen::Vector3d& field : fields) {
            if (!(field.norm() > 0.0) || field.normalized().dot(middle) < cosine) continue;
            sum += field;
            field.setZero();
        }
        if (sum.norm() < kFlatShare * skin) break;
        flats.push_back(sum.normalized());
    }
    return flats;
}

}  // namespace macle
