#include "core/fit/local_fit.h"

#include <algorithm>
#include <cmath>

namespace macle {

namespace {

// Gathering contacts costs many times what a pose query does, and few of them ever hold a step. So
// only the near ones are gathered, coarsely, and what a trial runs into is added. Measured as the
// time until a search comes within 0.1 % of the weight of the best placement known.
//
// How far above the smallest value contacts are gathered, in steps times the slope there.
constexpr double kReach = 0.3;
// Cells in which one contact speaks for all, in steps.
constexpr double kCell = 3.0;
// Share by which cells grow with their distance, as far as the design must grow to reach them.
constexpr double kCellGrowth = 3.0;
// Failed trials whose contact is added to the programme before the contacts are gathered anew.
constexpr int kCuts = 8;
// The step after a failed trial, whose failure mostly tells of a contact not yet known.
constexpr double kShorter = 0.85;

template <int N>
Eigen::Matrix<double, N, 1> slopeOf(const Contact& contact, double lever) {
    Eigen::Matrix<double, N, 1> slope;
    slope.template head<3>() = -contact.slope;
    if constexpr (N == 6) slope.template tail<3>() = contact.slope.cross(contact.q) / lever;
    return slope;
}

template <int N>
Pose moved(const Pose& pose, const Eigen::Matrix<double, N, 1>& step, double lever) {
    Pose next = pose;
    next.centre_mm += step.template head<3>();
    if constexpr (N == 6) {
        const Eigen::Vector3d turn = step.template tail<3>() / lever;
        const double angle = turn.norm();
        if (angle > 0.0)
            next.rotation =
                (Eigen::Quaterniond(Eigen::AngleAxisd(angle, turn / angle)) * pose.rotation)
                    .normalized();
    }
    return next;
}

}  // namespace

Eigen::Matrix<double, 6, 1> stepSlope(const Contact& contact, double lever_mm) {
    return slopeOf<6>(contact, lever_mm);
}

Pose stepped(const Pose& pose, const Eigen::Matrix<double, 6, 1>& step, double lever_mm) {
    return moved<6>(pose, step, lever_mm);
}

LocalFit::LocalFit(const ObstacleTree& tree, const std::vector<PreparedPart>& parts,
                   std::function<bool()> stop)
    : tree_(tree),
      query_{PoseQuery(tree, parts), std::nullopt, {}},
      trial_{PoseQuery(tree, parts), std::nullopt, {}},
      stop_(std::move(stop)) {}

LocalFit::LocalFit(const ObstacleTree& tree, const std::vector<PreparedPart>& parts,
                   const std::vector<Wall>& walls, const ObstacleTree* wallTree,
                   std::function<bool()> stop)
    : LocalFit(tree, parts, std::move(stop)) {
    walls_ = walls;
    if (!wallTree) return;
    query_.walls.emplace(*wallTree, parts);
    trial_.walls.emplace(*wallTree, parts);
}

LocalFit::LocalFit(const Gauge& gauge, std::function<bool()> stop)
    : LocalFit(gauge.obstacles().tree(), gauge.prepared(), gauge.walls(), gauge.wallTree(),
               std::move(stop)) {}

void LocalFit::Query::aim(const Pose& pose) {
    skin.aim(pose.rotation, pose.centre_mm);
    if (walls) walls->aim(pose.rotation, pose.centre_mm);
}

Contact LocalFit::Query::smallest(int warm) {
    Contact contact = skin.smallest(warm);
    if (!walls) return contact;
    Contact wall = walls->smallest(-1);
    if (wall.value >= contact.value) return contact;
    wall.triangle = contact.triangle;
    return wall;
}

void LocalFit::Query::gather(double floor, double ceiling, double cell_mm, double growth,
                             std::vector<Contact>& contacts) {
    skin.gather(floor, ceiling, cell_mm, growth, contacts);
    if (!walls) return;
    walls->gather(floor, ceiling, cell_mm, growth, fromWalls);
    contacts.insert(contacts.end(), fromWalls.begin(), fromWalls.end());
}

bool LocalFit::admissible(const Eigen::Vector3d& centre) const {
    return within(walls_, centre) && tree_.admissible(centre);
}

bool LocalFit::stopped() {
    return stop_ && stop_();
}

LocalFit::Place LocalFit::look(const Pose& pose, int warm) {
    Place place;
    place.pose = pose;
    ++poses_;
    if (!admissible(pose.centre_mm)) return place;
    query_.aim(pose);
    const Contact contact = query_.smallest(warm);
    place.size_mm = contact.value;
    place.triangle = contact.triangle;
    return place;
}

LocalFit::Place LocalFit::climb(const Place& start, const Climb& rules) {
    if (start.triangle < 0) return start;
    return rules.turning ? climbBy<6>(start, rules) : climbBy<3>(start, rules);
}

template <int N>
LocalFit::Place LocalFit::climbBy(const Place& start, const Climb& rules) {
    using Step = Eigen::Matrix<double, N, 1>;
    const double extent = tree_.skinBox().extent().maxCoeff();
    Place here = start;
    const long long ceiling = poses_ + rules.mostPoses;
    double radius = rules.firstStep * std::max(here.size_mm, 0.05 * extent);
    StepProgram<N> programme;
    query_.aim(here.pose);
    Contact nearest;
    bool known = false;  // whether that is the nearest contact here
    while (poses_ < ceiling && !stopped()) {
        const double size = std::max(here.size_mm, 0.01 * extent);
        const double lever = 0.5 * size;
        if (radius < rules.lastStep * size) break;
        if (!known) {
            ++poses_;
            nearest = query_.smallest(here.triangle);
            known = true;
        }
        const double steep = nearest.slope.norm();
        query_.gather(here.size_mm, here.size_mm + kReach * radius * steep, kCell * radius,
                      kCellGrowth / steep, contacts_);
        programme.clear();
        programme.add(nearest.value, slopeOf<N>(nearest, lever));
        for (const Contact& contact : contacts_)
            programme.add(contact.value, slopeOf<N>(contact, lever));
        bool better = false;
        for (int cut = 0; cut <= kCuts && poses_ < ceiling && !stopped(); ++cut) {
            const auto [step, promised, holding] = programme.solve(radius);
            const double gain = promised - here.size_mm;
            if (gain < rules.leastGain * size) {
                // The contacts of here are exact; those of trials, carried back over a bend, may
                // promise too little.
                if (cut == 0) return here;
                break;
            }
            if (radius < rules.aimShare * size && promised < rules.aim_mm) return here;
            const Pose pose = moved<N>(here.pose, step, lever);
            // Inside the present stone no obstacle can lie between the two centres.
            const bool inside =
                here.size_mm > 0.0 &&
                query_.skin.valueAt(pose.centre_mm - here.pose.centre_mm) < 0.999 * here.size_mm;
            ++poses_;
            if (!inside && !admissible(pose.centre_mm)) {
                radius *= 0.3;
                continue;
            }
            trial_.aim(pose);
            const Contact found = trial_.smallest(here.triangle);
            if (found.value > here.size_mm) {
                const double share = (found.value - here.size_mm) / gain;
                const double length = step.template lpNorm<Eigen::Infinity>();
                here.pose = pose;
                here.size_mm = found.value;
                here.triangle = found.triangle;
                std::swap(query_, trial_);
                nearest = found;
                if (share > 0.7 && length > 0.9 * radius)
                    radius *= 2.0;
                else if (share < 0.3)
                    radius *= 0.5;
                better = true;
                break;
            }
            // The trial's own contact, carried back to here, tells the programme what it missed.
            const Step slope = slopeOf<N>(found, lever);
            programme.add(found.value - slope.dot(step), slope);
            radius *= kShorter;
        }
        if (!better) radius *= 0.5;
    }
    return here;
}

template LocalFit::Place LocalFit::climbBy<3>(const Place&, const Climb&);
template LocalFit::Place LocalFit::climbBy<6>(const Place&, const Climb&);

}  // namespace macle
