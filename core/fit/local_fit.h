// LocalFit: climbs from one pose to the local optimum near it by sequential linear programmes on
// the contacts, within a trust region, each step judged by the exact gauge. Private to fit.
#pragma once

#include <Eigen/Geometry>
#include <functional>
#include <optional>
#include <vector>

#include "core/fit/gauge_kernel.h"
#include "core/fit/step_program.h"
#include "core/fit/walls.h"

namespace macle {

struct Pose {
    Eigen::Quaterniond rotation = Eigen::Quaterniond::Identity();
    Eigen::Vector3d centre_mm = Eigen::Vector3d::Zero();
};

struct Climb {
    double firstStep = 0.1;    // of the size
    double lastStep = 1e-8;    // of the size; ends when steps are smaller
    double leastGain = 1e-10;  // of the size; ends when the programme promises less
    int mostPoses = 400;
    bool turning = true;    // false: the rotation is kept
    double aim_mm = 0.0;    // gives up early when the programme cannot promise this size ...
    double aimShare = 0.0;  // ... once its radius is below this share of the size
};

// Change of a contact's value with a step of the centre (mm) and a turn about it (mm at `lever_mm`
// from the centre).
Eigen::Matrix<double, 6, 1> stepSlope(const Contact& contact, double lever_mm);

// The pose after such a step.
Pose stepped(const Pose& pose, const Eigen::Matrix<double, 6, 1>& step, double lever_mm);

class LocalFit {
  public:
    // `stop` is asked before every pose query; true ends the climb at once.
    LocalFit(const ObstacleTree& tree, const std::vector<PreparedPart>& parts,
             std::function<bool()> stop);
    // The walls too; `wallTree` is theirs and must outlive it, null without walls.
    LocalFit(const ObstacleTree& tree, const std::vector<PreparedPart>& parts,
             const std::vector<Wall>& walls, const ObstacleTree* wallTree,
             std::function<bool()> stop);
    // All that the gauge knows.
    LocalFit(const Gauge& gauge, std::function<bool()> stop);

    struct Place {
        Pose pose;
        double size_mm = 0.0;
        int triangle = -1;  // warm start for the next query nearby
    };

    // Size 0, triangle -1 when the centre is not admissible.
    Place look(const Pose& pose, int warm = -1);
    // From an admissible place; never returns a smaller one.
    Place climb(const Place& start, const Climb& rules);

    long long poses() const { return poses_; }

  private:
    template <int N>
    Place climbBy(const Place& start, const Climb& rules);
    // A pose query of the tree, and of the walls where there are some.
    struct Query {
        void aim(const Pose& pose);
        Contact smallest(int warm);  // its triangle is one of the tree, whatever it touches
        void gather(double floor, double ceiling, double cell_mm, double growth,
                    std::vector<Contact>& contacts);

        PoseQuery skin;
        std::optional<PoseQuery> walls;
        std::vector<Contact> fromWalls;
    };
    bool stopped();
    bool admissible(const Eigen::Vector3d& centre) const;

    const ObstacleTree& tree_;
    std::vector<Wall> walls_;
    Query query_;
    Query trial_;
    std::function<bool()> stop_;
    std::vector<Contact> contacts_;
    long long poses_ = 0;
};

}  // namespace macle
