// The parts of the joint search: a division as it is planned, and the desk that fits stones into
// its pieces without sawing anything: a piece is the rough within walls. Private to divide.
#pragma once

#include <memory>
#include <vector>

#include "core/base/draw.h"
#include "core/divide/joint_budget.h"
#include "core/divide/joint_search.h"
#include "core/fit/search.h"

namespace macle {

// The stone of a piece.
struct JointLeaf {
    int wanted = -1;      // which of the stones that are wanted
    std::size_t cut = 0;  // index into the rules' cuts
    Placement placement;
    double worth = 0.0;
};

// Leaf i is cut from piece i of the saws.
struct JointPlan {
    std::vector<Saw> saws;
    std::vector<JointLeaf> leaves;
    double worth() const;
};

struct PieceWalls {
    std::vector<Wall> walls;
    std::vector<int> saws;  // that bound it, in the same order
};

class JointDesk {
  public:
    JointDesk(const Stone& stone, const JointRules& rules, const StoneWorth& worth,
              JointBudget& budget);

    const Stone& stone() const { return stone_; }
    const JointRules& rules() const { return rules_; }
    const Design& design(std::size_t cut) const { return designs_[cut]; }
    JointBudget& budget() const { return budget_; }
    double volume_mm3(const JointLeaf& leaf) const;

    // Of each piece that the saws leave. Of a V in a piece that is itself sawn, its sides are those
    // of about the piece's length along the beam.
    std::vector<PieceWalls> walls(const std::vector<Saw>& saws) const;
    // By division, exactly.
    static std::vector<PieceWalls> walls(const Division& division);

    // Every cut the leaf's stone may have is sought with so many poses; false when none fits.
    struct Seek {
        long long poses = 200;
        std::uint64_t seed = 1;
        bool worthiest = false;  // smaller sizes are looked at too, where not volume counts
        double share = 1.0;      // of the whole, at which time is over
    };
    bool seek(const PieceWalls& piece, JointLeaf& leaf, const Seek& how, long long& poses) const;
    // From where it is; false when it finds no room there.
    bool settle(const PieceWalls& piece, JointLeaf& leaf, long long& poses) const;  // roughly
    // Where it stands if it has room there, else settled; smaller by kSmaller_mm, so that rounding
    // keeps the kerf. False when it finds no room.
    bool stand(const PieceWalls& piece, JointLeaf& leaf) const;
    static constexpr double kSmaller_mm = 1e-9;
    // Placements of one cut in the whole rough, clearly different ones, most worth first.
    std::vector<JointLeaf> singles(int wanted, std::size_t cut, long long poses, std::size_t others,
                                   double share, long long& counted) const;

    // A saw of the rules' kind through a point; what lies towards `normal` becomes the new piece.
    Saw sawThrough(int piece, const Eigen::Vector3d& normal, double offset_mm) const;
    // The saw next to the leaf's stone in a direction.
    Saw sawBeside(const JointPlan& plan, int leaf, const Eigen::Vector3d& direction) const;
    // About which share of the rough lies within the walls, from points spread evenly.
    double shareWithin(const PieceWalls& piece) const;
    // Where along a direction shares of the piece lie below.
    std::vector<double> quantiles(const PieceWalls& piece, const Eigen::Vector3d& direction,
                                  const std::vector<double>& shares) const;

    // How differently two divisions use the rough: how far each stone reaches otherwise than the
    // one most like it, as a share of its size and at most 1; the mean by volume over the stones.
    double apart(const JointPlan& a, const JointPlan& b) const;

  private:
    bool climbed(const PieceWalls& piece, JointLeaf& leaf, bool roughly, long long& poses) const;
    double worthOf(std::size_t cut, const Placement& placement) const;
    std::vector<Eigen::Vector3d> tableDirections(const PieceWalls& piece) const;
    Eigen::VectorXd reach_mm(const JointLeaf& leaf) const;

    const Stone& stone_;
    const JointRules& rules_;
    const StoneWorth& worth_;
    JointBudget& budget_;
    std::vector<Design> designs_;
    std::vector<double> unit_mm3_;                       // of each design at size 1
    std::vector<std::vector<Eigen::Vector3d>> corners_;  // of each design at size 1
    std::unique_ptr<Obstacles> obstacles_;
    std::vector<Eigen::Vector3d> inside_;  // points spread over the rough
    TriangleMesh corners_mesh_;            // vertices of the skin, no more than are needed
};

// Moves and turns the saws of a plan, its stones settling anew, as long as that helps and at most
// `most` poses long; `first` is the share of a stone's size by which saws are moved first.
JointPlan improved(const JointDesk& desk, JointPlan plan, double first, long long most,
                   double share, std::uint64_t seed, long long& poses);

// A plan thrown out of its place: one saw moved and turned at random, the stones beside it sought
// anew. Nothing when they find no room.
std::optional<JointPlan> kicked(const JointDesk& desk, const JointPlan& plan, Draw draw,
                                long long seekPoses, double share, long long& poses);

// A way to begin: a plan of which some leaves are still to be sought.
struct JointStart {
    JointPlan plan;
    std::vector<int> open;  // leaves
};

// With one stone more than `plan` has, beside each of its stones and by sawing through the middle
// of its pieces, the roomiest first; `most` of each kind for each piece.
std::vector<JointStart> extensions(const JointDesk& desk, const JointPlan& plan, std::size_t most);

// The first of each kind, then the second of each, and so on.
std::vector<JointStart> inTurn(std::vector<std::vector<JointStart>> kinds);

// Indices of the wanted stones that are not in the plan, one of each kind.
std::vector<int> missingFrom(const JointRules& rules, const JointPlan& plan);

}  // namespace macle
