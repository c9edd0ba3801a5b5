#include "core/divide/joint_plan.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/fit/worth_fit.h"
#include "core/solid/separation.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr std::size_t kMostCorners = 20000;  // of the skin, that tell how long a piece is
constexpr int kPointsTried = 3000;
constexpr double kLongWay = 0.3;     // of the time that is left, for one search of a piece
constexpr double kBackInside = 0.1;  // of the size, that a middle beyond a wall is moved inside

// Directions that look all round, the same ones every time.
std::vector<Vector3d> allRound() {
    std::vector<Vector3d> directions;
    for (int x = -1; x <= 1; ++x)
        for (int y = -1; y <= 1; ++y)
            for (int z = -1; z <= 1; ++z)
                if (x != 0 || y != 0 || z != 0)
                    directions.push_back(Vector3d(x, y, z).normalized());
    return directions;
}

void addSides(std::vector<PieceWalls>& pieces, const Saw& saw, int index, const SawnSides& sides) {
    const auto p = static_cast<std::size_t>(saw.piece);
    PieceWalls above = pieces[p];
    above.walls.push_back({sides.above.normal, sides.above.offset_mm});
    above.saws.push_back(index);
    pieces[p].walls.push_back({sides.below.normal, sides.below.offset_mm});
    pieces[p].saws.push_back(index);
    pieces.push_back(std::move(above));
}

}  // namespace

double JointPlan::worth() const {
    double sum = 0.0;
    for (const JointLeaf& leaf : leaves)
        sum += leaf.worth;
    return sum;
}

JointDesk::JointDesk(const Stone& stone, const JointRules& rules, const StoneWorth& worth,
                     JointBudget& budget)
    : stone_(stone), rules_(rules), worth_(worth), budget_(budget) {
    for (const JointCut& cut : rules.cuts) {
        designs_.push_back(makeDesign(cut.cut, cut.proportions, cut.edits));
        unit_mm3_.push_back(designVolume(designs_.back()));
        corners_.emplace_back();
        for (const ConvexPart& part : designs_.back().parts)
            for (const Vector3d& corner : makeSolid(part).vertices)
                corners_.back().push_back(corner);
    }
    obstacles_ = std::make_unique<Obstacles>(stone, &budget.watched());
    const std::vector<Vector3d>& skin = stone.rough.mesh.vertices;
    const std::size_t stride = 1 + skin.size() / kMostCorners;
    for (std::size_t i = 0; i < skin.size(); i += stride)
        corners_mesh_.vertices.push_back(skin[i]);
    corners_mesh_.triangles.push_back({0, 0, 0});  // only its vertices are asked for
    // An additive recurrence sequence (as in core/fit/starts.h).
    const Box box = bounds(stone.rough.mesh);
    constexpr double kRoot = 1.2207440846057596;
    for (int i = 1; i <= kPointsTried; ++i) {
        Vector3d point;
        double ratio = 1.0;
        for (int axis = 0; axis < 3; ++axis) {
            ratio /= kRoot;
            const double place = 0.5 + i * ratio;
            point[axis] = box.low[axis] + box.extent()[axis] * (place - std::floor(place));
        }
        if (obstacles_->admissibleCentre(point)) inside_.push_back(point);
    }
}

double JointDesk::volume_mm3(const JointLeaf& leaf) const {
    return unit_mm3_[leaf.cut] * std::pow(leaf.placement.size_mm, 3);
}

double JointDesk::worthOf(std::size_t cut, const Placement& placement) const {
    if (!worth_) return unit_mm3_[cut] * std::pow(placement.size_mm, 3);
    const double worth = worth_(cut, placement);
    if (!std::isfinite(worth))
        throw Error(ErrorCode::BadInput, "The worth of a placement is not a finite number.",
                    "Check the figure that the search is to make largest.");
    return worth;
}

std::vector<PieceWalls> JointDesk::walls(const std::vector<Saw>& saws) const {
    std::vector<PieceWalls> pieces(1);
    for (std::size_t s = 0; s < saws.size(); ++s) {
        const Saw& saw = saws[s];
        const PieceWalls& piece = pieces[static_cast<std::size_t>(saw.piece)];
        if (saw.v && !piece.walls.empty()) {
            TriangleMesh part;
            for (const Vector3d& corner : corners_mesh_.vertices)
                if (within(piece.walls, corner)) part.vertices.push_back(corner);
            part.triangles = corners_mesh_.triangles;
            addSides(pieces, saw, static_cast<int>(s),
                     sawnSides(saw, part.vertices.size() < 2 ? corners_mesh_ : part));
        } else {
            addSides(pieces, saw, static_cast<int>(s), sawnSides(saw, corners_mesh_));
        }
    }
    return pieces;
}

std::vector<PieceWalls> JointDesk::walls(const Division& division) {
    std::vector<PieceWalls> pieces;
    for (const Piece& piece : division.pieces) {
        pieces.emplace_back();
        for (const HalfSpace& side : piece.sides)
            pieces.back().walls.push_back({side.normal, side.offset_mm});
    }
    return pieces;
}

std::vector<Vector3d> JointDesk::tableDirections(const PieceWalls& piece) const {
    std::vector<Vector3d> directions;
    for (const Wall& wall : piece.walls) {
        directions.push_back(wall.normal);
        directions.push_back(-wall.normal);
    }
    if (stone_.axes)
        for (int axis = 0; axis < 3; ++axis)
            for (const double sign : {1.0, -1.0})
                directions.push_back(stone_.axes->rotation * (sign * Vector3d::Unit(axis)));
    return directions;
}

bool JointDesk::seek(const PieceWalls& piece, JointLeaf& leaf, const Seek& how,
                     long long& poses) const {
    bool found = leaf.placement.size_mm >= kSmallestJoint_mm && leaf.worth > 0.0;
    const std::vector<std::size_t>& cuts = rules_.stones[static_cast<std::size_t>(leaf.wanted)];
    for (const std::size_t cut : cuts) {
        const Gauge gauge(*obstacles_, designs_[cut], rules_.fit, piece.walls);
        FitOptions options;
        options.seconds = 0.0;
        if (budget_.timed()) options.seconds = std::max(1e-3, kLongWay * budget_.left_s(how.share));
        options.poses = std::max<long long>(1, how.poses / static_cast<long long>(cuts.size()));
        options.seed = how.seed;
        options.threads = 1;
        options.tableDirections = tableDirections(piece);
        if (found && leaf.cut == cut) options.starts = {leaf.placement};
        try {
            FitResult fit;
            if (worth_ && how.worthiest)
                fit = findWorthiest(
                          gauge, [&](const Placement& place) { return worthOf(cut, place); },
                          options, &budget_.watched())
                          .fit;
            else
                fit = findBest(gauge, options, &budget_.watched());
            poses += fit.poses;
            budget_.count(fit.poses);
            if (fit.placement.size_mm < kSmallestJoint_mm) continue;
            const double worth = worthOf(cut, fit.placement);
            if (found && worth <= leaf.worth) continue;
            leaf.cut = cut;
            leaf.placement = fit.placement;
            leaf.worth = worth;
            found = true;
        } catch (const Error& error) {
            if (error.code() != ErrorCode::NoSolution) throw;
        }
    }
    return found;
}

bool JointDesk::settle(const PieceWalls& piece, JointLeaf& leaf, long long& poses) const {
    const long long before = poses;
    const bool found = climbed(piece, leaf, true, poses);
    budget_.count(poses - before);
    return found;
}

bool JointDesk::climbed(const PieceWalls& piece, JointLeaf& leaf, bool roughly,
                        long long& poses) const {
    const Gauge gauge(*obstacles_, designs_[leaf.cut], rules_.fit, piece.walls);
    Placement start = leaf.placement;
    for (const Wall& wall : piece.walls) {
        const double beyond = wall.normal.dot(start.translation_mm) - wall.offset_mm;
        if (beyond >= 0.0)
            start.translation_mm -= (beyond + kBackInside * start.size_mm) * wall.normal;
    }
    long long asked = 0;
    bool found = false;
    try {
        const Placement settled =
            (roughly ? settleRoughly : macle::settle)(gauge, start, &budget_.watched(), &asked);
        if (settled.size_mm >= kSmallestJoint_mm) {
            leaf.placement = settled;
            leaf.worth = worthOf(leaf.cut, settled);
            found = true;
        }
    } catch (const Error& error) {
        if (error.code() != ErrorCode::NoSolution) throw;
    }
    poses += asked + 1;
    return found;
}

bool JointDesk::stand(const PieceWalls& piece, JointLeaf& leaf) const {
    const Gauge gauge(*obstacles_, designs_[leaf.cut], rules_.fit, piece.walls);
    const GaugeAnswer room = gauge.largest(leaf.placement.rotation, leaf.placement.translation_mm);
    const bool stands = room.source >= 0 && room.size_mm >= leaf.placement.size_mm;
    // A stone may be meant to be smaller than it could be where not its volume counts.
    long long poses = 0;
    if (!(stands && worth_) && !climbed(piece, leaf, false, poses)) return false;
    leaf.placement.size_mm -= kSmaller_mm;
    leaf.worth = worthOf(leaf.cut, leaf.placement);
    return true;
}

std::vector<JointLeaf> JointDesk::singles(int wanted, std::size_t cut, long long poses,
                                          std::size_t others, double share,
                                          long long& counted) const {
    const Gauge gauge(*obstacles_, designs_[cut], rules_.fit);
    FitOptions options;
    options.seconds = budget_.timed() ? std::max(1e-3, budget_.left_s(share)) : 0.0;
    options.poses = poses;
    options.threads = 1;
    options.different = others;
    options.tableDirections = tableDirections({});
    std::vector<JointLeaf> leaves;
    try {
        const FitResult fit = findBest(gauge, options, &budget_.watched());
        counted += fit.poses;
        budget_.count(fit.poses);
        std::vector<Placement> found{fit.placement};
        found.insert(found.end(), fit.others.begin(), fit.others.end());
        for (const Placement& placement : found)
            if (placement.size_mm >= kSmallestJoint_mm)
                leaves.push_back({wanted, cut, placement, worthOf(cut, placement)});
    } catch (const Error& error) {
        if (error.code() != ErrorCode::NoSolution) throw;
    }
    std::stable_sort(leaves.begin(), leaves.end(),
                     [](const JointLeaf& a, const JointLeaf& b) { return a.worth > b.worth; });
    return leaves;
}

Saw JointDesk::sawThrough(int piece, const Vector3d& normal, double offset_mm) const {
    Saw saw;
    saw.piece = piece;
    saw.normal = normal.normalized();
    saw.offset_mm = offset_mm;
    saw.kerf_mm = rules_.kerf_mm;
    if (!rules_.exit_mm) return saw;
    // The beam takes the shortest way: along which the rough reaches least.
    constexpr int kWays = 12;
    const Vector3d across = saw.normal.unitOrthogonal();
    const Vector3d other = saw.normal.cross(across);
    double least = std::numeric_limits<double>::infinity();
    VKerf v;
    v.exit_mm = *rules_.exit_mm;
    for (int way = 0; way < kWays; ++way) {
        const double angle = std::numbers::pi * way / kWays;
        const Vector3d beam = std::cos(angle) * across + std::sin(angle) * other;
        const double length =
            reachOf(corners_mesh_.vertices, beam) + reachOf(corners_mesh_.vertices, -beam);
        if (!(length < least)) continue;
        least = length;
        v.beam = beam;
    }
    saw.v = v;
    return saw;
}

Saw JointDesk::sawBeside(const JointPlan& plan, int leaf, const Vector3d& direction) const {
    const JointLeaf& stone = plan.leaves[static_cast<std::size_t>(leaf)];
    const Placement& placed = stone.placement;
    const double reach =
        placed.size_mm * reachOf(corners_[stone.cut], placed.rotation.conjugate() * direction);
    return sawThrough(leaf, direction,
                      direction.dot(placed.translation_mm) + reach + rules_.fit.allowance_mm +
                          0.5 * rules_.kerf_mm);
}

double JointDesk::shareWithin(const PieceWalls& piece) const {
    if (inside_.empty()) return 0.0;
    const auto held = std::count_if(inside_.begin(), inside_.end(), [&](const Vector3d& point) {
        return within(piece.walls, point);
    });
    return static_cast<double>(held) / static_cast<double>(inside_.size());
}

std::vector<double> JointDesk::quantiles(const PieceWalls& piece, const Vector3d& direction,
                                         const std::vector<double>& shares) const {
    std::vector<double> along;
    for (const Vector3d& point : inside_)
        if (within(piece.walls, point)) along.push_back(direction.dot(point));
    std::sort(along.begin(), along.end());
    std::vector<double> found;
    if (along.empty()) return found;
    for (const double share : shares)
        found.push_back(
            along[std::min(along.size() - 1,
                           static_cast<std::size_t>(share * static_cast<double>(along.size())))]);
    return found;
}

Eigen::VectorXd JointDesk::reach_mm(const JointLeaf& leaf) const {
    static const std::vector<Vector3d> directions = allRound();
    Eigen::VectorXd reach(static_cast<Eigen::Index>(directions.size()));
    for (std::size_t i = 0; i < directions.size(); ++i)
        reach[static_cast<Eigen::Index>(i)] =
            leaf.placement.size_mm *
                reachOf(corners_[leaf.cut], leaf.placement.rotation.conjugate() * directions[i]) +
            directions[i].dot(leaf.placement.translation_mm);
    return reach;
}

double JointDesk::apart(const JointPlan& a, const JointPlan& b) const {
    if (a.leaves.size() != b.leaves.size()) return 1.0;
    double most = 0.0;
    for (const auto& [from, to] : {std::pair{&a, &b}, {&b, &a}}) {
        double sum = 0.0, whole = 0.0;
        for (const JointLeaf& leaf : from->leaves) {
            const Eigen::VectorXd reach = reach_mm(leaf);
            double least = 1.0;
            for (const JointLeaf& other : to->leaves)
                if (other.cut == leaf.cut)
                    least = std::min(least, (reach - reach_mm(other)).lpNorm<Eigen::Infinity>() /
                                                leaf.placement.size_mm);
            sum += volume_mm3(leaf) * least;
            whole += volume_mm3(leaf);
        }
        most = std::max(most, sum / whole);
    }
    return most;
}

}  // namespace macle
