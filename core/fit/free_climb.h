// FreeClimb: climbs in pose and proportions to the heaviest cut nearby. Private to fit.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "core/fit/free_fit.h"
#include "core/fit/local_fit.h"

namespace macle {

// A design with what the climb asks of it.
struct ShapedDesign {
    Design design;
    std::vector<PreparedPart> parts;
    double side = 0.0;  // edge of the cube that holds as much as the design of size 1
};

class FreeClimb {
  public:
    FreeClimb(const ObstacleTree& tree, std::string cut, std::map<std::string, double> pinned,
              std::vector<FacetEdit> edits, const std::vector<FreeProportion>& free,
              const FitRules& rules, std::function<bool()> stop);

    struct Place {
        Pose pose;
        std::vector<double> values;  // of the free proportions
        double size_mm = 0.0;
        double side_mm = 0.0;  // of the cube of the same volume: what the climb makes largest
    };

    // side 0 when the proportions cannot meet or the centre is not admissible.
    Place look(const Pose& pose, const std::vector<double>& values);
    // From a place with a side; never returns a smaller one.
    Place climb(const Place& start, int mostPoses);

    std::map<std::string, double> proportions(const std::vector<double>& values) const;
    // Null when the proportions cannot meet one another.
    std::shared_ptr<const ShapedDesign> shape(const std::vector<double>& values) const;
    long long poses() const { return poses_; }

  private:
    static constexpr int kSize = 6 + static_cast<int>(kMostFreeProportions);
    using Programme = StepProgram<kSize>;

    // Adds the rows of all contacts within reach of steps up to `radius`.
    void gatherRows(const Place& here, const ShapedDesign& shaped, double radius,
                    Programme& programme);

    const ObstacleTree& tree_;
    std::string cut_;
    std::map<std::string, double> pinned_;
    std::vector<FacetEdit> edits_;
    std::vector<FreeProportion> free_;
    FitRules rules_;
    std::function<bool()> stop_;
    long long poses_ = 0;
};

}  // namespace macle
