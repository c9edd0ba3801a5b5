// The second half of PartCut: which stretches of the body's edges lie inside the rough, and the
// proof that skin pieces, chains and stretches close up.
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <optional>

#include "core/base/tolerance.h"
#include "core/solid/part_cut.h"

namespace macle {
namespace {

using Eigen::Vector3d;

// Crossings of one body edge nearer than this may stand in either order; a crossing nearer than
// this to a body vertex may be taken for it. mm.
constexpr double kTie_mm = 1e-9;

// The skin crosses a body edge here: a chain ends on one face and starts on the other.
struct Crossing {
    int edge = 0;
    double along_mm = 0.0;  // from v0
    bool entering = false;  // going v0 -> v1, into the rough
    std::uint32_t corner = 0;
};

// A chain starts or ends at a vertex of the face.
struct Touch {
    int face = 0;
    int vertex = 0;
    bool ends = false;
    std::uint32_t corner = 0;
};

enum class Known : std::uint8_t { No, Inside, Outside };

class FaceCloser {
  public:
    FaceCloser(const SkinTree& tree, PartCut& cut)
        : tree_(tree), cut_(cut), part_(*cut.body.part), crossingsOf_(part_.edges.size()) {}

    void run() {
        if (!collect() || !orderCrossings()) return;
        startOnLeft_.assign(part_.edges.size(), Known::No);
        startOnRight_.assign(part_.edges.size(), Known::No);
        area_ = cut_.chainArea;
        sum_ = cut_.chainSum;
        std::vector<int> quiet;  // faces whose border the skin does not cross
        for (int f = 0; f < faceCount(); ++f) {
            if (!busy(f)) {
                quiet.push_back(f);
                continue;
            }
            if (!walkBusy(f)) return doubt("the skin's chains do not alternate round a facet");
        }
        settleQuiet(quiet);
        verify();
    }

  private:
    int faceCount() const { return static_cast<int>(part_.facets.size()); }
    void doubt(const char* reason) { cut_.doubt = reason; }
    const SolidFace& face(int f) const { return part_.solid.faces[static_cast<std::size_t>(f)]; }
    const PreparedEdge& edge(int e) const { return part_.edges[static_cast<std::size_t>(e)]; }
    const Vector3d& vertex(int v) const { return cut_.body.vertices[static_cast<std::size_t>(v)]; }

    bool collect() {
        for (const SkinPiece& piece : cut_.pieces)
            for (std::uint32_t i = 0; i < piece.corners; ++i) {
                const std::uint32_t at = piece.firstCorner + i;
                const std::uint32_t before = piece.firstCorner + (i == 0 ? piece.corners : i) - 1U;
                const std::int32_t arriving = cut_.corners[before].next;
                const std::int32_t leaving = cut_.corners[at].next;
                if (isSkinEdge(arriving) || isSkinEdge(leaving) || arriving == leaving) continue;
                if (!addCrossing(at, arriving, leaving)) {
                    doubt("the skin passes between two facets that do not meet");
                    return false;
                }
            }
        return true;
    }

    // Faces walk pieces backwards: the chain on `arriving` starts here, that on `leaving` ends.
    bool addCrossing(std::uint32_t corner, int arriving, int leaving) {
        const Vector3d& place = cut_.corners[corner].place;
        const int number = part_.edge(arriving, leaving);
        if (number >= 0) {
            const PreparedEdge& e = edge(number);
            const Vector3d run = vertex(e.v1) - vertex(e.v0);
            const double length = run.norm();
            const double along = (place - vertex(e.v0)).dot(run) / length;
            if (along < -kTie_mm || along > length + kTie_mm) return false;
            crossings_.push_back(
                {number, std::clamp(along, 0.0, length), e.left == leaving, corner});
            return true;
        }
        for (const int v : face(arriving).corners) {
            const auto& others = face(leaving).corners;
            if ((vertex(v) - place).norm() > kTie_mm ||
                std::find(others.begin(), others.end(), v) == others.end())
                continue;
            touches_.push_back({arriving, v, false, corner});
            touches_.push_back({leaving, v, true, corner});
            cut_.contacts.push_back({corner, v});
            return true;
        }
        return false;
    }

    bool orderCrossings() {
        std::sort(crossings_.begin(), crossings_.end(), [](const Crossing& a, const Crossing& b) {
            return std::tie(a.edge, a.along_mm, a.corner) < std::tie(b.edge, b.along_mm, b.corner);
        });
        for (std::size_t first = 0; first < crossings_.size();) {
            std::size_t last = first;
            while (last < crossings_.size() && crossings_[last].edge == crossings_[first].edge)
                ++last;
            crossingsOf_[static_cast<std::size_t>(crossings_[first].edge)] = {first, last};
            for (std::size_t i = first + 1; i < last; ++i) {
                if (crossings_[i].entering != crossings_[i - 1].entering) continue;
                std::size_t j = i;
                while (j < last && crossings_[j].entering == crossings_[i].entering)
                    ++j;
                if (j == last || crossings_[j].along_mm - crossings_[i].along_mm > kTie_mm) {
                    doubt("the skin's crossings do not alternate along an edge of the design");
                    return false;
                }
                std::rotate(crossings_.begin() + static_cast<std::ptrdiff_t>(i),
                            crossings_.begin() + static_cast<std::ptrdiff_t>(j),
                            crossings_.begin() + static_cast<std::ptrdiff_t>(j) + 1);
            }
            first = last;
        }
        return true;
    }

    struct Range {
        std::size_t first = 0;
        std::size_t last = 0;
        bool empty() const { return first == last; }
    };

    bool busy(int f) const {
        for (const int e : part_.faceEdges[static_cast<std::size_t>(f)])
            if (!crossingsOf_[static_cast<std::size_t>(e)].empty()) return true;
        return std::any_of(touches_.begin(), touches_.end(),
                           [&](const Touch& touch) { return touch.face == f; });
    }

    bool walkBusy(int f) {
        const std::size_t spans = cut_.spans.size();
        for (const bool inside : {true, false}) {
            const double area = area_[static_cast<std::size_t>(f)];
            const Vector3d sum = sum_[static_cast<std::size_t>(f)];
            if (walk(f, inside)) return true;
            area_[static_cast<std::size_t>(f)] = area;
            sum_[static_cast<std::size_t>(f)] = sum;
            cut_.spans.resize(spans);
        }
        return false;
    }

    // Round the face from its first corner, starting inside the rough or not.
    bool walk(int f, bool startInside) {
        bool inside = startInside;
        const SolidFace& border = face(f);
        for (std::size_t i = 0; i < border.corners.size(); ++i) {
            const int from = border.corners[i];
            const int to = border.corners[(i + 1) % border.corners.size()];
            if (!passTouches(f, from, inside)) return false;

            const int number = part_.faceEdges[static_cast<std::size_t>(f)][i];
            const bool forward = edge(number).left == f;
            Known& start =
                (forward ? startOnLeft_ : startOnRight_)[static_cast<std::size_t>(number)];
            if (forward) start = inside ? Known::Inside : Known::Outside;
            const Range range = crossingsOf_[static_cast<std::size_t>(number)];
            std::int64_t last = -1 - static_cast<std::int64_t>(from);
            Vector3d lastPlace = vertex(from);
            for (std::size_t n = 0; n < range.last - range.first; ++n) {
                const Crossing& crossing =
                    crossings_[forward ? range.first + n : range.last - 1 - n];
                const bool entering = crossing.entering == forward;
                if (entering == inside) return false;
                const Vector3d& place = cut_.corners[crossing.corner].place;
                if (inside) addSpan(f, last, lastPlace, crossing.corner, place);
                inside = entering;
                last = crossing.corner;
                lastPlace = place;
            }
            if (inside) addSpan(f, last, lastPlace, -1 - static_cast<std::int64_t>(to), vertex(to));
            if (!forward) start = inside ? Known::Inside : Known::Outside;
        }
        return inside == startInside;
    }

    // Chains that meet in one vertex have no order there: take whichever fits.
    bool passTouches(int f, int v, bool& inside) const {
        std::ptrdiff_t balance = 0;
        std::ptrdiff_t count = 0;
        for (const Touch& touch : touches_)
            if (touch.face == f && touch.vertex == v) {
                balance += touch.ends ? 1 : -1;
                ++count;
            }
        if (count == 0 || balance == 0) return true;
        if (balance == 1 && !inside) {
            inside = true;
            return true;
        }
        if (balance == -1 && inside) {
            inside = false;
            return true;
        }
        return false;
    }

    void addSpan(int f, std::int64_t from, const Vector3d& fromPlace, std::int64_t to,
                 const Vector3d& toPlace) {
        const auto at = static_cast<std::size_t>(f);
        const Vector3d& about = vertex(face(f).corners.front());
        area_[at] +=
            0.5 * cut_.body.planes[at].normal.dot((fromPlace - about).cross(toPlace - about));
        sum_[at] += toPlace - fromPlace;
        cut_.spans.push_back({f, from, to});
    }

    // A face whose border the skin does not cross lies wholly on one side there: that of any
    // neighbour at the common edge, or failing all neighbours, that of one tested point.
    void settleQuiet(std::vector<int> quiet) {
        while (!quiet.empty()) {
            bool progress = false;
            std::vector<int> left;
            for (const int f : quiet) {
                const std::optional<bool> inside = neighbourSays(f);
                if (!inside) {
                    left.push_back(f);
                    continue;
                }
                progress = true;
                walk(f, *inside);
            }
            quiet.swap(left);
            if (progress || quiet.empty()) continue;
            const int f = quiet.front();
            const PreparedEdge& e = edge(part_.faceEdges[static_cast<std::size_t>(f)].front());
            walk(f, tree_.contains(0.5 * (vertex(e.v0) + vertex(e.v1))));
            quiet.erase(quiet.begin());
        }
    }

    std::optional<bool> neighbourSays(int f) const {
        for (const int number : part_.faceEdges[static_cast<std::size_t>(f)]) {
            const auto e = static_cast<std::size_t>(number);
            const Known other = edge(number).left == f ? startOnRight_[e] : startOnLeft_[e];
            if (other != Known::No) return other == Known::Inside;
        }
        return std::nullopt;
    }

    void verify() {
        for (std::size_t e = 0; e < part_.edges.size(); ++e)
            if (startOnLeft_[e] != startOnRight_[e])
                return doubt("two facets disagree about their common edge");
        const PlacedBody& body = cut_.body;
        double length = 0.0;
        for (const Vector3d& v : body.vertices)
            length = std::max(length, (v - body.origin).norm());
        Vector3d closure = cut_.skinArea;
        double total = cut_.skinAreaTotal;
        double moment = cut_.skinMoment;
        double excess = 0.0;
        for (std::size_t f = 0; f < body.planes.size(); ++f) {
            if (sum_[f].norm() > 100.0 * kTie_mm) return doubt("the border of a facet is open");
            const ClipPlane& plane = body.planes[f];
            if (area_[f] < -kTie_mm * length) return doubt("a facet has negative area");
            closure += area_[f] * plane.normal;
            total += std::abs(area_[f]);
            moment += (plane.offset - plane.normal.dot(body.origin)) * area_[f];
            excess += body.excess[f] * area_[f];
        }
        if (closure.norm() > tolerance::kVolumeRelative * total + kTie_mm * length)
            return doubt("the surface of the finished stone is open");
        cut_.volume = moment / 3.0 - excess;
        const double slack = tolerance::kVolumeRelative * body.volume;
        if (cut_.volume < -slack || cut_.volume > body.volume + slack)
            return doubt("the volume is impossible");
        cut_.volume = std::clamp(cut_.volume, 0.0, body.volume);
    }

    const SkinTree& tree_;
    PartCut& cut_;
    const PreparedSolid& part_;
    std::vector<Crossing> crossings_;
    std::vector<Range> crossingsOf_;  // per body edge, its crossings
    std::vector<Touch> touches_;
    std::vector<Known> startOnLeft_;  // inside at v0, as the left face sees it
    std::vector<Known> startOnRight_;
    std::vector<double> area_;
    std::vector<Vector3d> sum_;
};

}  // namespace

void closeFaces(const SkinTree& tree, PartCut& cut) {
    FaceCloser(tree, cut).run();
}

}  // namespace macle
