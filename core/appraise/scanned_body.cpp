// Flat regions on the scan of a polished stone: normals are evened out over neighbours, regions
// grow from the flattest seeds, and each plane is then fitted by least squares to all skin that
// lies on it. The girdle, ground round, is taken in narrow upright strips.
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>

#include "core/appraise/body_reading.h"
#include "core/appraise/facet_body.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/solid/convex_solid.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr double kSameFacet_deg = 3.0;  // neighbouring facets of a cut differ by more
constexpr double kSmooth_deg = 15.0;    // normals are not evened out over an edge
constexpr double kUpright_deg = 80.0;   // steeper: girdle
constexpr double kLeastShare = 5e-4;    // of the surface: smaller flats are chips and dust
constexpr double kStrip_deg = 4.0;      // of a girdle; flats of 64 differ by 5.6
constexpr double kGirdleRidge = 0.005;  // of the radius: a strip of a round is that deep
constexpr double kLeastCovered = 0.7;   // of the surface must be facets and girdle
constexpr int kSmoothings = 6;
constexpr int kFittings = 4;
constexpr int kNone = -1;

struct Patch {
    Vector3d normal = Vector3d::Zero();
    double distance = 0.0;
    double area = 0.0;
};

class Regions {
  public:
    Regions(const TriangleMesh& scan, double noise_mm, Progress* progress)
        : scan_(scan), noise_mm_(noise_mm), progress_(progress) {
        std::map<std::pair<std::uint32_t, std::uint32_t>, std::size_t> edges;
        neighbours_.resize(scan.triangles.size());
        for (std::size_t t = 0; t < scan.triangles.size(); ++t) {
            const auto& c = scan.triangles[t];
            const Vector3d twice = (scan.vertices[c[1]] - scan.vertices[c[0]])
                                       .cross(scan.vertices[c[2]] - scan.vertices[c[0]]);
            normals_.push_back(twice.normalized());
            areas_.push_back(0.5 * twice.norm());
            for (std::size_t k = 0; k < 3; ++k) {
                const auto edge = std::minmax(c[k], c[(k + 1) % 3]);
                const auto [other, fresh] = edges.try_emplace(edge, t);
                if (fresh) continue;
                neighbours_[t].push_back(other->second);
                neighbours_[other->second].push_back(t);
            }
        }
        total_ = std::accumulate(areas_.begin(), areas_.end(), 0.0);
    }

    std::vector<Patch> patches() {
        smooth();
        grow();
        for (int k = 0; k < kFittings; ++k) {
            fit();
            assign();
        }
        fit();
        std::vector<Patch> found;
        for (const Patch& patch : patches_)
            if (patch.area >= kLeastShare * total_) found.push_back(patch);
        return found;
    }

    // Strips of the girdle about the axis `up`, each with the mean of its skin.
    std::vector<Patch> girdle(const Vector3d& up, const Vector3d& centre) const {
        const Vector3d first = up.unitOrthogonal();
        const Vector3d second = up.cross(first);
        std::vector<std::pair<double, std::size_t>> upright;  // azimuth in degrees, triangle
        for (std::size_t t = 0; t < even_.size(); ++t)
            if (areas_[t] > 0.0 && std::abs(even_[t].dot(up)) <= std::cos(radians(kUpright_deg)))
                upright.emplace_back(degrees(std::atan2(even_[t].dot(second), even_[t].dot(first))),
                                     t);
        if (upright.empty()) return {};
        std::sort(upright.begin(), upright.end());
        // Strips begin after the widest gap, so that no flat is torn.
        std::size_t widest = 0;
        double gap = upright.front().first + 360.0 - upright.back().first;
        for (std::size_t k = 1; k < upright.size(); ++k)
            if (upright[k].first - upright[k - 1].first > gap) {
                gap = upright[k].first - upright[k - 1].first;
                widest = k;
            }
        for (std::size_t k = 0; k < widest; ++k)
            upright[k].first += 360.0;
        std::rotate(upright.begin(), upright.begin() + static_cast<std::ptrdiff_t>(widest),
                    upright.end());
        std::vector<std::vector<std::size_t>> members;
        double begin = 0.0;
        for (const auto& [azimuth, t] : upright) {
            if (members.empty() || azimuth - begin > kStrip_deg) {
                members.emplace_back();
                begin = azimuth;
            }
            members.back().push_back(t);
        }
        std::vector<Patch> found;
        for (const auto& strip : members) {
            Patch patch;
            for (const std::size_t t : strip)
                patch.normal += areas_[t] * (even_[t] - even_[t].dot(up) * up);
            if (!(patch.normal.norm() > 0.0)) continue;
            patch.normal.normalize();
            // Only the skin farthest out is girdle; the rest is noise on edges inside.
            double farthest = 0.0;
            for (const std::size_t t : strip)
                farthest = std::max(farthest, patch.normal.dot(middle(t) - centre));
            double sum = 0.0;
            for (const std::size_t t : strip) {
                const double reach = patch.normal.dot(middle(t) - centre);
                if (reach < farthest - std::max(6.0 * noise_mm_, kGirdleRidge * farthest)) continue;
                patch.area += areas_[t];
                sum += areas_[t] * reach;
            }
            if (!(patch.area >= 0.1 * kLeastShare * total_)) continue;
            patch.distance = sum / patch.area + patch.normal.dot(centre);
            found.push_back(patch);
        }
        return found;
    }

    double total() const { return total_; }

    double flatness() const {
        double sum = 0.0;
        double area = 0.0;
        for (std::size_t t = 0; t < normals_.size(); ++t) {
            if (owner_[t] == kNone) continue;
            const Patch& patch = patches_[static_cast<std::size_t>(owner_[t])];
            sum += areas_[t] * std::pow(patch.normal.dot(middle(t)) - patch.distance, 2);
            area += areas_[t];
        }
        return area > 0.0 ? std::sqrt(sum / area) : 0.0;
    }

  private:
    Vector3d middle(std::size_t t) const {
        const auto& c = scan_.triangles[t];
        return (scan_.vertices[c[0]] + scan_.vertices[c[1]] + scan_.vertices[c[2]]) / 3.0;
    }

    void poll(std::size_t t) const {
        if (progress_ != nullptr && t % 4096 == 0) progress_->throwIfCancelled();
    }

    void smooth() {
        even_ = normals_;
        // As far as the noise may tilt a triangle: a large one keeps its own normal.
        std::vector<double> alike;
        for (std::size_t t = 0; t < normals_.size(); ++t) {
            const auto& c = scan_.triangles[t];
            double longest = 0.0;
            for (std::size_t k = 0; k < 3; ++k)
                longest = std::max(longest,
                                   (scan_.vertices[c[k]] - scan_.vertices[c[(k + 1) % 3]]).norm());
            const double height = longest > 0.0 ? 2.0 * areas_[t] / longest : 0.0;
            const double tilt = 3.0 * degrees(std::atan2(noise_mm_, height));
            alike.push_back(std::cos(radians(std::min(kSmooth_deg, tilt))));
        }
        for (int round = 0; round < kSmoothings; ++round) {
            std::vector<Vector3d> next = even_;
            for (std::size_t t = 0; t < even_.size(); ++t) {
                poll(t);
                Vector3d sum = areas_[t] * even_[t];
                for (const std::size_t n : neighbours_[t])
                    if (even_[n].dot(even_[t]) > alike[t]) sum += areas_[n] * even_[n];
                if (sum.norm() > 0.0) next[t] = sum.normalized();
            }
            even_ = std::move(next);
        }
    }

    void grow() {
        owner_.assign(normals_.size(), kNone);
        std::vector<std::size_t> order(normals_.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        std::stable_sort(order.begin(), order.end(),
                         [&](std::size_t a, std::size_t b) { return areas_[a] > areas_[b]; });
        const double alike = std::cos(radians(kSameFacet_deg));
        for (const std::size_t seed : order) {
            poll(seed);
            if (owner_[seed] != kNone || areas_[seed] <= 0.0) continue;
            const int own = static_cast<int>(patches_.size());
            Vector3d sum = areas_[seed] * even_[seed];
            std::vector<std::size_t> open{seed};
            std::vector<std::size_t> members;
            owner_[seed] = own;
            while (!open.empty()) {
                const std::size_t t = open.back();
                open.pop_back();
                members.push_back(t);
                for (const std::size_t n : neighbours_[t]) {
                    if (owner_[n] != kNone || even_[n].dot(sum.normalized()) < alike) continue;
                    owner_[n] = own;
                    sum += areas_[n] * even_[n];
                    open.push_back(n);
                }
            }
            double area = 0.0;
            for (const std::size_t t : members)
                area += areas_[t];
            if (area < kLeastShare * total_) {
                for (const std::size_t t : members)
                    owner_[t] = kTooSmall;
                continue;
            }
            patches_.push_back({sum.normalized(), 0.0, area});
        }
        for (int& owner : owner_)
            if (owner == kTooSmall) owner = kNone;
    }

    // Least squares: the plane through the area's middle, square to its thinnest way.
    void fit() {
        std::vector<Vector3d> middles(patches_.size(), Vector3d::Zero());
        std::vector<Eigen::Matrix3d> moments(patches_.size(), Eigen::Matrix3d::Zero());
        for (Patch& patch : patches_)
            patch.area = 0.0;
        for (std::size_t t = 0; t < owner_.size(); ++t)
            if (owner_[t] != kNone) {
                const auto k = static_cast<std::size_t>(owner_[t]);
                middles[k] += areas_[t] * middle(t);
                patches_[k].area += areas_[t];
            }
        for (std::size_t k = 0; k < patches_.size(); ++k)
            if (patches_[k].area > 0.0) middles[k] /= patches_[k].area;
        for (std::size_t t = 0; t < owner_.size(); ++t)
            if (owner_[t] != kNone) {
                const auto k = static_cast<std::size_t>(owner_[t]);
                for (const std::uint32_t corner : scan_.triangles[t]) {
                    const Vector3d off = scan_.vertices[corner] - middles[k];
                    moments[k] += areas_[t] / 3.0 * off * off.transpose();
                }
            }
        for (std::size_t k = 0; k < patches_.size(); ++k) {
            if (!(patches_[k].area > 0.0)) continue;
            const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(moments[k]);
            Vector3d normal = solver.eigenvectors().col(0).normalized();
            if (normal.dot(patches_[k].normal) < 0.0) normal = -normal;
            patches_[k].normal = normal;
            patches_[k].distance = normal.dot(middles[k]);
        }
    }

    // Skin near an edge joins the facet it lies on, or none.
    void assign() {
        const double facing = std::cos(radians(kSmooth_deg));
        for (std::size_t t = 0; t < owner_.size(); ++t) {
            poll(t);
            int best = kNone;
            double nearest = 2.0 * noise_mm_;
            for (std::size_t k = 0; k < patches_.size(); ++k) {
                if (patches_[k].normal.dot(even_[t]) < facing) continue;
                double off = 0.0;
                for (const std::uint32_t corner : scan_.triangles[t])
                    off = std::max(off, std::abs(patches_[k].normal.dot(scan_.vertices[corner]) -
                                                 patches_[k].distance));
                if (off < nearest) {
                    nearest = off;
                    best = static_cast<int>(k);
                }
            }
            owner_[t] = best;
        }
    }

    static constexpr int kTooSmall = -2;

    const TriangleMesh& scan_;
    double noise_mm_;
    Progress* progress_;
    std::vector<Vector3d> normals_;
    std::vector<Vector3d> even_;
    std::vector<double> areas_;
    std::vector<std::vector<std::size_t>> neighbours_;
    std::vector<int> owner_;
    std::vector<Patch> patches_;
    double total_ = 0.0;
};

ConvexPart partOf(const std::vector<Patch>& patches, const Vector3d& centre) {
    ConvexPart part;
    for (const Patch& patch : patches)
        part.facets.push_back({"flat " + std::to_string(part.facets.size() + 1), FacetKind::Other,
                               patch.normal, patch.distance - patch.normal.dot(centre)});
    return part;
}

// The turn about z that makes the outline's narrowest way the width, or brings a main of a round to
// index 0.
double indexTurn(const ConvexSolid& solid, const ConvexPart& part) {
    double narrowest = std::numeric_limits<double>::infinity();
    double widest = 0.0;
    double turn = 0.0;
    for (const SolidFace& face : solid.faces) {
        const Vector3d& n = part.facets[static_cast<std::size_t>(face.facet)].normal;
        if (std::abs(n.z()) > std::cos(radians(kUpright_deg))) continue;
        const Vector3d across = Vector3d(n.x(), n.y(), 0.0).normalized();
        double low = 0.0;
        double high = 0.0;
        for (const Vector3d& v : solid.vertices) {
            low = std::min(low, v.dot(across));
            high = std::max(high, v.dot(across));
        }
        widest = std::max(widest, high - low);
        if (high - low < narrowest) {
            narrowest = high - low;
            turn = std::atan2(across.y(), across.x()) - radians(90.0);
        }
    }
    constexpr double kRound = 1.03;
    if (widest > kRound * narrowest) return turn;
    // Round: the flattest facet that reaches the lowest point is a pavilion main.
    double lowest = 0.0;
    for (const Vector3d& v : solid.vertices)
        lowest = std::min(lowest, v.z());
    double flattest = 90.0;
    for (const SolidFace& face : solid.faces) {
        const Vector3d& n = part.facets[static_cast<std::size_t>(face.facet)].normal;
        const double steep = degrees(std::atan2(std::hypot(n.x(), n.y()), -n.z()));
        if (n.z() >= 0.0 || steep < kSameFacet_deg || steep >= flattest) continue;
        flattest = steep;
        turn = std::atan2(n.y(), n.x());
    }
    return turn;
}

}  // namespace

ScannedBody scannedBody(const TriangleMesh& scan, double noise_mm, Progress* progress) {
    if (!(noise_mm > 0.0 && std::isfinite(noise_mm)))
        throw Error(ErrorCode::BadUsage, "The noise of the scan must be a length above zero.",
                    "Give what the scanner promises, for example 0.01 mm.");
    Regions regions(scan, noise_mm, progress);
    std::vector<Patch> patches = regions.patches();
    if (patches.size() < 4)
        throw Error(
            ErrorCode::BadInput,
            "Only " + std::to_string(patches.size()) + " flat facets were found on this surface.",
            "Give the scan of a polished stone, or more noise.");
    const auto table =
        std::max_element(patches.begin(), patches.end(),
                         [](const Patch& a, const Patch& b) { return a.area < b.area; });
    const Vector3d up = table->normal;
    const Vector3d centre = bounds(scan).centre();
    const std::vector<Patch> strips = regions.girdle(up, centre);
    std::erase_if(patches, [&](const Patch& patch) {
        return std::abs(patch.normal.dot(up)) < std::cos(radians(kUpright_deg));
    });
    patches.insert(patches.end(), strips.begin(), strips.end());
    double covered = 0.0;
    for (const Patch& patch : patches)
        covered += patch.area;
    if (covered < kLeastCovered * regions.total())
        throw Error(ErrorCode::BadInput,
                    "Only " + formatFixed(100.0 * covered / regions.total(), 0) +
                        " % of this surface are flat facets or girdle.",
                    "Give the scan of a polished stone, or more noise.");

    ScannedBody result;
    // Twice: to find axis, mid-girdle and index, and then in the cut frame.
    Eigen::Isometry3d toCut = Eigen::Isometry3d::Identity();
    toCut.linear() = Eigen::Quaterniond::FromTwoVectors(up, Vector3d::UnitZ()).toRotationMatrix();
    toCut.translation() = -(toCut.linear() * centre);
    const auto moved = [&] {
        std::vector<Patch> list = patches;
        for (Patch& patch : list) {
            patch.normal = (toCut.linear() * patch.normal).normalized();
            patch.distance += patch.normal.dot(toCut.translation());
        }
        return list;
    };
    const double size_mm = bounds(scan).extent().maxCoeff();
    for (int pass = 0; pass < 3; ++pass) {
        const ConvexPart part = partOf(moved(), Vector3d::Zero());
        const ConvexSolid solid = makeSolid(part);
        if (pass == 0) {
            toCut.prerotate(Eigen::AngleAxisd(-indexTurn(solid, part), Vector3d::UnitZ()));
            continue;
        }
        result.body.facets.clear();
        result.body.parts.assign(1, {});
        for (const Facet& facet : part.facets)
            result.body.parts.front().push_back({facet.normal, facet.distance});
        for (const SolidFace& face : solid.faces) {
            const Facet& facet = part.facets[static_cast<std::size_t>(face.facet)];
            SeenFacet seen{facet.normal, facet.distance, face.area, {}, 0};
            for (const int corner : face.corners)
                seen.corners_mm.push_back(solid.vertices[static_cast<std::size_t>(corner)]);
            result.body.facets.push_back(std::move(seen));
        }
        if (pass == 2) break;
        Vector3d low = Vector3d::Constant(std::numeric_limits<double>::infinity());
        Vector3d high = -low;
        for (const SeenFacet& facet : result.body.facets)
            if (steepness_deg(facet) > kUpright_deg)
                for (const Vector3d& at : facet.corners_mm) {
                    low = low.cwiseMin(at);
                    high = high.cwiseMax(at);
                }
        if (low.allFinite() && high.allFinite()) toCut.pretranslate(-0.5 * (low + high));
    }
    result.toCut = toCut;
    result.flatness_mm = regions.flatness();
    // Meets of fitted planes fall apart by some multiples of the noise.
    result.body.exact_mm = std::max(5.0 * noise_mm, 0.004 * size_mm);
    result.body.flat_deg = 1.5;
    return result;
}

}  // namespace macle
