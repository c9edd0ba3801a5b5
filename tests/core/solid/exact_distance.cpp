#include "tests/core/solid/exact_distance.h"

#include <CGAL/Cartesian.h>
#include <CGAL/Gmpzf.h>
#include <CGAL/Polytope_distance_d.h>
#include <CGAL/Polytope_distance_d_traits_3.h>

#include <cmath>

namespace macle::judge {

double distance_mm(const std::vector<Eigen::Vector3d>& first,
                   const std::vector<Eigen::Vector3d>& second) {
    using Kernel = CGAL::Cartesian<double>;
    using Traits = CGAL::Polytope_distance_d_traits_3<Kernel, CGAL::Gmpzf, double>;
    const auto points = [](const std::vector<Eigen::Vector3d>& corners) {
        std::vector<Kernel::Point_3> made;
        for (const Eigen::Vector3d& corner : corners)
            made.emplace_back(corner.x(), corner.y(), corner.z());
        return made;
    };
    const auto a = points(first), b = points(second);
    const CGAL::Polytope_distance_d<Traits> distance(a.begin(), a.end(), b.begin(), b.end());
    return std::sqrt(CGAL::to_double(distance.squared_distance_numerator()) /
                     CGAL::to_double(distance.squared_distance_denominator()));
}

}  // namespace macle::judge
