#include "core/stone/intake.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/stone/holes.h"
#include "core/stone/mesh_file.h"
#include "core/stone/skin.h"
#include "core/stone/surface_file.h"

namespace macle {

namespace {

constexpr std::size_t kMostPlaces = 20;
// A surface smaller than this in every direction is no stone, and too small to weld safely.
constexpr double kSmallestExtent_mm = 1e-3;
// Outside this range a rough is possible but a wrong unit more likely, so the report says it.
constexpr double kUsuallyOver_mm = 0.3;
constexpr double kUsuallyUnder_mm = 150.0;

[[noreturn]] void refuse(const std::string& message, const std::string& remedy) {
    throw Error(ErrorCode::BadInput, message, remedy);
}

std::string counted(long long count, const std::string& one, const std::string& many) {
    return std::to_string(count) + " " + (count == 1 ? one : many);
}

std::string shown(const Eigen::Vector3d& place) {
    return "(" + formatFixed(place.x(), 3) + ", " + formatFixed(place.y(), 3) + ", " +
           formatFixed(place.z(), 3) + ")";
}

// ", first at (1.000, 2.000, 3.000) (...) mm"
std::string firstPlaces(const std::vector<Eigen::Vector3d>& places) {
    if (places.empty()) return "";
    std::string text = places.size() == 1 ? ", at" : ", first at";
    for (std::size_t i = 0; i < std::min<std::size_t>(3, places.size()); ++i)
        text += " " + shown(places[i]);
    return text + " mm";
}

std::string shownExtent(const TriangleMesh& mesh) {
    const Eigen::Vector3d extent = bounds(mesh).extent();
    return formatFixed(extent.x(), 3) + " x " + formatFixed(extent.y(), 3) + " x " +
           formatFixed(extent.z(), 3) + " mm";
}

void addPlace(std::vector<Eigen::Vector3d>& places, const Eigen::Vector3d& place) {
    if (places.size() < kMostPlaces) places.push_back(place);
}

Eigen::Vector3d middleOf(const TriangleMesh& mesh, std::uint32_t triangle) {
    const auto& [a, b, c] = mesh.triangles[triangle];
    return (mesh.vertices[a] + mesh.vertices[b] + mesh.vertices[c]) / 3.0;
}

// What was found and done, in the order in which the report shows it.
struct Account {
    Finding welded{"repeated vertices", 0, "welded", {}};
    Finding slivers{"zero-area triangles", 0, "removed", {}};
    Finding turnedSlivers{"slivers", 0, "edge turned", {}};
    Finding duplicates{"duplicate triangles", 0, "removed", {}};
    Finding unused{"unused vertices", 0, "removed", {}};
    Finding disagreeing{"triangles facing the wrong way", 0, "turned to agree", {}};
    Finding insideOut{"inside-out", 0, "turned outward", {}};
    Finding touching{"self-intersections", 0, "none needed", {}};

    std::vector<Finding> lines() const {
        std::vector<Finding> all = {welded, slivers,     turnedSlivers, duplicates,
                                    unused, disagreeing, insideOut,     touching};
        for (Finding& line : all)
            if (line.count == 0) line.action = "none needed";
        return all;
    }
};

struct Shell {
    TriangleMesh mesh;
    std::vector<bool> turned;  // per triangle, against the file
    double volume_mm3 = 0.0;   // signed, as the majority of the file has it
};

// The steps from raw triangles to closed shells of one orientation each.
class Intake {
  public:
    Intake(const TriangleMesh& raw, Progress* progress) : progress_(progress) {
        checkInput(raw);
        weldVertices(raw);
        refuseFlat();
        dropDegenerate();
        dropExtras();
        refuseOpen();
        splitShells();
    }

    Account& account() { return account_; }
    std::vector<Shell>& shells() { return shells_; }

    // Dissolves slivers, turns the shell outward when it is inside-out, and checks the rest.
    void finish(Shell& shell, double from, double to) {
        dissolve(shell);
        shell.volume_mm3 = signedVolume_mm3(shell.mesh);
        const double area = area_mm2(shell.mesh);
        if (!(2.0 * std::abs(shell.volume_mm3) > tolerance::kInside_mm * area))
            refuse("The surface encloses no volume (" + shownExtent(shell.mesh) +
                       "): it has no thickness, or as much of it is inside-out as not.",
                   "Scan or export the stone again.");
        const bool inward = shell.volume_mm3 < 0.0;
        const auto facingWrong =
            static_cast<long long>(std::count(shell.turned.begin(), shell.turned.end(), !inward));
        if (inward) turnAll(shell);
        // Whole shells are inside-out; single triangles face the wrong way.
        if (facingWrong == static_cast<long long>(shell.turned.size()))
            account_.insideOut.count += facingWrong;
        else
            account_.disagreeing.count += facingWrong;
        account_.unused.count += skin::dropUnusedVertices(shell.mesh);
        at(from);
        refuseTouching(shell.mesh);
        at(to);
    }

    void at(double fraction) const {
        if (!progress_) return;
        progress_->throwIfCancelled();
        progress_->advanceTo(fraction);
    }

  private:
    void checkInput(const TriangleMesh& raw) {
        if (raw.triangles.empty() || raw.vertices.empty())
            refuse("The surface has no triangles.", "Scan or export the stone again.");
        if (raw.triangles.size() >= skin::kMostTriangles ||
            raw.vertices.size() >= 3 * skin::kMostTriangles)
            refuse("The surface has " + std::to_string(raw.triangles.size()) +
                       " triangles, more than can be worked on.",
                   "Thin the scan out before it is taken in.");
        for (std::size_t i = 0; i < raw.vertices.size(); ++i) {
            skin::poll(progress_, i);
            const Eigen::Vector3d& v = raw.vertices[i];
            if (!(v.cwiseAbs().maxCoeff() <= surface_file::kFarthestCoordinate_mm) || v.hasNaN())
                refuse("A coordinate is not finite or beyond 1000000 mm.",
                       "Check the unit of the export.");
        }
        for (std::size_t t = 0; t < raw.triangles.size(); ++t) {
            skin::poll(progress_, t);
            for (const std::uint32_t v : raw.triangles[t])
                if (v >= raw.vertices.size())
                    refuse("A triangle names vertex " + std::to_string(v) +
                               ", but there are only " + std::to_string(raw.vertices.size()) + ".",
                           "Scan or export the stone again.");
        }
    }

    void weldVertices(const TriangleMesh& raw) {
        // Only what triangles use: a stray vertex must not stretch the tolerances.
        const std::vector<bool> used = skin::usedVertices(raw, progress_);
        account_.unused.count = std::count(used.begin(), used.end(), false);
        Eigen::AlignedBox3d box;
        for (std::size_t i = 0; i < used.size(); ++i) {
            skin::poll(progress_, i);
            if (used[i]) box.extend(raw.vertices[i]);
        }
        extent_mm_ = box.sizes().maxCoeff();
        if (!(extent_mm_ >= kSmallestExtent_mm))
            refuse("The surface is only " + formatFixed(extent_mm_, 6) + " mm large.",
                   "Coordinates are taken as mm; check the unit of the export.");
        at(0.28);
        auto welded = skin::weld(raw, used, weldLength(), progress_);
        account_.welded.count = welded.merged;
        mesh_ = std::move(welded.mesh);
        at(0.4);
    }

    double weldLength() const { return tolerance::kWeldRelative * extent_mm_; }

    // All points within a hair of one plane: told here, as it would show up as open edges or
    // doubled triangles otherwise.
    void refuseFlat() const {
        const Eigen::Vector3d centre = bounds(mesh_).centre();
        Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
        for (std::size_t i = 0; i < mesh_.vertices.size(); ++i) {
            skin::poll(progress_, i);
            const Eigen::Vector3d& v = mesh_.vertices[i];
            const Eigen::Vector3d d = (v - centre) / extent_mm_;
            spread += d * d.transpose();
        }
        // The normal is the direction in which the points spread least about their mean.
        Eigen::Vector3d mean = Eigen::Vector3d::Zero();
        for (const Eigen::Vector3d& v : mesh_.vertices)
            mean += (v - centre) / extent_mm_;
        spread -= mean * mean.transpose() / static_cast<double>(mesh_.vertices.size());
        const Eigen::Vector3d normal =
            Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(spread).eigenvectors().col(0);
        double low = 0.0, high = 0.0;
        for (const Eigen::Vector3d& v : mesh_.vertices) {
            const double height = normal.dot(v - centre);
            low = std::min(low, height);
            high = std::max(high, height);
        }
        if (!(high - low > std::max(tolerance::kInside_mm, weldLength())))
            refuse("The surface is flat: all its points lie in one plane (" + shownExtent(mesh_) +
                       ").",
                   "Scan or export the stone again.");
    }

    // Triangles with two welded corners: what is left of them is one edge, so they go unseen.
    void dropDegenerate() {
        std::vector<std::array<std::uint32_t, 3>> kept;
        kept.reserve(mesh_.triangles.size());
        for (std::uint32_t t = 0; t < mesh_.triangles.size(); ++t) {
            const auto& [a, b, c] = mesh_.triangles[t];
            if (a != b && b != c && c != a) {
                kept.push_back(mesh_.triangles[t]);
                continue;
            }
            ++account_.slivers.count;
            addPlace(account_.slivers.places, middleOf(mesh_, t));
        }
        mesh_.triangles = std::move(kept);
        if (mesh_.triangles.empty())
            refuse("Every triangle of the surface has zero area.",
                   "Scan or export the stone again.");
    }

    // Second copies of a triangle and triangles of no area, where the skin is closed without them.
    void dropExtras() {
        edges_ = skin::findEdges(mesh_, progress_);
        if (std::all_of(edges_.uses.begin(), edges_.uses.end(),
                        [](std::uint32_t uses) { return uses == 2; }))
            return;
        const auto sortedCorners = [&](std::uint32_t t) {
            auto corners = mesh_.triangles[t];
            std::sort(corners.begin(), corners.end());
            return corners;
        };
        std::vector<std::uint32_t> order(mesh_.triangles.size());
        for (std::uint32_t t = 0; t < order.size(); ++t)
            order[t] = t;
        std::vector<std::array<std::uint32_t, 3>> corners(order.size());
        for (const std::uint32_t t : order)
            corners[t] = sortedCorners(t);
        std::sort(order.begin(), order.end(), [&](std::uint32_t s, std::uint32_t t) {
            return corners[s] != corners[t] ? corners[s] < corners[t] : s < t;
        });
        std::vector<bool> repeats(order.size(), false);
        for (std::size_t i = 1; i < order.size(); ++i)
            repeats[order[i]] = corners[order[i]] == corners[order[i - 1]];

        std::vector<std::array<std::uint32_t, 3>> kept;
        kept.reserve(mesh_.triangles.size());
        for (std::uint32_t t = 0; t < mesh_.triangles.size(); ++t) {
            const bool sliver = !repeats[t] && skin::isSliver(mesh_, t, weldLength());
            const bool spare =
                std::all_of(edges_.edgeOf.begin() + 3 * t, edges_.edgeOf.begin() + 3 * t + 3,
                            [&](std::uint32_t edge) { return edges_.uses[edge] != 2; });
            if (!spare || !(repeats[t] || sliver)) {
                kept.push_back(mesh_.triangles[t]);
                continue;
            }
            for (std::uint32_t h = 3 * t; h < 3 * t + 3; ++h)
                --edges_.uses[edges_.edgeOf[h]];
            Finding& line = sliver ? account_.slivers : account_.duplicates;
            ++line.count;
            addPlace(line.places, middleOf(mesh_, t));
        }
        mesh_.triangles = std::move(kept);
        edges_ = skin::findEdges(mesh_, progress_);
    }

    void refuseOpen() const {
        std::vector<bool> told(edges_.uses.size(), false);
        long long open = 0, crowded = 0;
        std::vector<Eigen::Vector3d> openPlaces, crowdedPlaces;
        for (std::uint32_t h = 0; h < edges_.edgeOf.size(); ++h) {
            const std::uint32_t edge = edges_.edgeOf[h];
            if (edges_.uses[edge] == 2 || told[edge]) continue;
            told[edge] = true;
            ++(edges_.uses[edge] == 1 ? open : crowded);
            addPlace(edges_.uses[edge] == 1 ? openPlaces : crowdedPlaces, skin::middleOf(mesh_, h));
        }
        std::string message;
        if (open > 0)
            message = "The surface is open: " + counted(open, "edge has", "edges have") +
                      " a triangle on one side only" + firstPlaces(openPlaces) + ".";
        if (crowded > 0)
            message += std::string(message.empty() ? "" : " ") +
                       "More than two triangles meet at " + counted(crowded, "edge", "edges") +
                       firstPlaces(crowdedPlaces) + ".";
        if (message.empty()) return;
        refuse(message, open > 0 ? "Close the surface in the scanner's software."
                                 : "Remove the inner walls in the scanner's software.");
    }

    void splitShells() {
        const auto twins = skin::findTwins(edges_);
        skin::Shells found = skin::findShells(mesh_, twins, progress_);
        if (found.oneSided >= 0)
            refuse("The surface has no inside: its sides change places around " +
                       shown(middleOf(mesh_, static_cast<std::uint32_t>(found.oneSided))) + " mm.",
                   "Scan or export the stone again.");
        shells_.resize(static_cast<std::size_t>(found.count));
        for (std::uint32_t t = 0; t < mesh_.triangles.size(); ++t) {
            Shell& shell = shells_[static_cast<std::size_t>(found.shellOf[t])];
            auto triangle = mesh_.triangles[t];
            if (found.turned[t]) std::swap(triangle[1], triangle[2]);
            shell.mesh.triangles.push_back(triangle);
            shell.turned.push_back(found.turned[t]);
        }
        if (found.count == 1) {
            shells_[0].mesh.vertices = std::move(mesh_.vertices);
        } else {
            distributeVertices();
            dropFlatSlivers();
        }
        for (Shell& shell : shells_)
            shell.volume_mm3 = signedVolume_mm3(shell.mesh);
        at(0.5);
    }

    // Each shell gets its own vertices; one where two shells touch goes to both.
    void distributeVertices() {
        std::vector<std::uint32_t> newOf(mesh_.vertices.size());
        std::vector<std::size_t> owner(mesh_.vertices.size(), shells_.size());
        for (std::size_t s = 0; s < shells_.size(); ++s)
            for (auto& triangle : shells_[s].mesh.triangles)
                for (std::uint32_t& v : triangle) {
                    if (owner[v] != s) {
                        owner[v] = s;
                        newOf[v] = static_cast<std::uint32_t>(shells_[s].mesh.vertices.size());
                        shells_[s].mesh.vertices.push_back(mesh_.vertices[v]);
                    }
                    v = newOf[v];
                }
    }

    // A shell of nothing but zero-area triangles is no shell.
    void dropFlatSlivers() {
        const auto isNothing = [&](const Shell& shell) {
            for (std::uint32_t t = 0; t < shell.mesh.triangles.size(); ++t)
                if (!skin::isSliver(shell.mesh, t, weldLength())) return false;
            return true;
        };
        for (const Shell& shell : shells_) {
            if (!isNothing(shell)) continue;
            account_.slivers.count += static_cast<long long>(shell.mesh.triangles.size());
            addPlace(account_.slivers.places, middleOf(shell.mesh, 0));
        }
        std::erase_if(shells_, isNothing);
        if (shells_.empty())
            refuse("Every triangle of the surface has zero area.",
                   "Scan or export the stone again.");
    }

    void dissolve(Shell& shell) {
        auto twins = skin::findTwins(skin::findEdges(shell.mesh, progress_));
        const auto stuck = turnSlivers(shell.mesh, twins, weldLength());
        if (!stuck.empty()) {
            std::vector<Eigen::Vector3d> places;
            for (const std::uint32_t t : stuck)
                addPlace(places, middleOf(shell.mesh, t));
            refuse(counted(static_cast<long long>(stuck.size()), "triangle", "triangles") +
                       " of zero area cannot be removed without opening the surface" +
                       firstPlaces(places) + ".",
                   "Rebuild the surface there in the scanner's software.");
        }
        refusePinched(shell.mesh, twins);
    }

    // Returns the slivers that could not be turned.
    std::vector<std::uint32_t> turnSlivers(TriangleMesh& mesh, std::vector<std::uint32_t>& twins,
                                           double height_mm) {
        Finding& line = account_.turnedSlivers;
        for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t) {
            if (!skin::isSliver(mesh, t, height_mm)) continue;
            ++line.count;
            addPlace(line.places, middleOf(mesh, t));
        }
        return skin::dissolveSlivers(mesh, twins, height_mm, progress_);
    }

    void refusePinched(const TriangleMesh& mesh, const std::vector<std::uint32_t>& twins) const {
        const auto pinched = skin::pinchedVertices(mesh, twins);
        if (pinched.empty()) return;
        std::vector<Eigen::Vector3d> places;
        for (const std::uint32_t v : pinched)
            addPlace(places, mesh.vertices[v]);
        refuse("The surface is pinched: parts of it meet in single points only, at " +
                   counted(static_cast<long long>(pinched.size()), "vertex", "vertices") +
                   firstPlaces(places) + ".",
               "Part or join the surface there in the scanner's software.");
    }

    static void turnAll(Shell& shell) {
        for (auto& triangle : shell.mesh.triangles)
            std::swap(triangle[1], triangle[2]);
        shell.volume_mm3 = -shell.volume_mm3;
    }

    void refuseTouching(TriangleMesh& mesh) {
        skin::Touching touching = skin::findTouching(mesh, progress_);
        if (touching.pairs > 0 && !touching.more) {
            // Rounding to single precision can push a corner that lay on an edge across it by less
            // than any length that counts. Turning such slivers mends it; real crossings stay.
            auto twins = skin::findTwins(skin::findEdges(mesh, progress_));
            const long long before = account_.turnedSlivers.count;
            const auto stuck = turnSlivers(mesh, twins, tolerance::kInside_mm);
            if (stuck.empty() && account_.turnedSlivers.count > before)
                touching = skin::findTouching(mesh, progress_);
        }
        if (touching.pairs == 0) return;
        refuse("The surface crosses or touches itself: " +
                   std::string(touching.more ? "more than " : "") +
                   counted(touching.pairs, "pair", "pairs") + " of triangles" +
                   firstPlaces(touching.places) + ".",
               "Rebuild the surface there in the scanner's software.");
    }

    Progress* progress_;
    Account account_;
    TriangleMesh mesh_;
    skin::Edges edges_;
    double extent_mm_ = 0.0;
    std::vector<Shell> shells_;
};

[[noreturn]] void refuseSeveral(const std::vector<Shell>& shells) {
    std::string message = "The file holds " + std::to_string(shells.size()) + " separate shells:";
    for (std::size_t i = 0; i < shells.size() && i < 10; ++i)
        message += std::string(i ? ";" : "") + " shell " + std::to_string(i + 1) + " of " +
                   std::to_string(shells[i].mesh.triangles.size()) + " triangles, " +
                   formatFixed(std::abs(shells[i].volume_mm3), 3) + " mm3, " +
                   shownExtent(shells[i].mesh);
    message += shells.size() > 10 ? "; and more." : ".";
    refuse(message,
           "Save the rough as a file of its own; shells inside it can be read as defects.");
}

}  // namespace

namespace {

// Of several shells the one of that number; -1: there must be one.
Rough takeInShell(const TriangleMesh& raw, int number, Progress* progress) {
    Intake intake(raw, progress);
    auto& shells = intake.shells();
    if (number < 0 && shells.size() > 1) refuseSeveral(shells);
    if (number >= static_cast<int>(shells.size()))
        refuse("The file has no shell " + std::to_string(number + 1) + ".", "Choose another.");
    Shell& shell = shells[static_cast<std::size_t>(std::max(0, number))];
    intake.finish(shell, 0.55, 1.0);

    Rough rough;
    rough.mesh = std::move(shell.mesh);
    rough.volume_mm3 = shell.volume_mm3;
    rough.report.trianglesRead = static_cast<long long>(raw.triangles.size());
    rough.report.trianglesKept = static_cast<long long>(rough.mesh.triangles.size());
    rough.report.closed = true;
    rough.report.findings = intake.account().lines();
    const double extent = bounds(rough.mesh).extent().maxCoeff();
    if (extent < kUsuallyOver_mm || extent > kUsuallyUnder_mm)
        rough.report.findings.push_back(
            {"unusual size (" + shownExtent(rough.mesh) + "), check the unit", 1, "kept", {}});
    if (shells.size() > 1)
        rough.report.findings.push_back(
            {"other shells", static_cast<long long>(shells.size() - 1), "left out, as asked", {}});
    return rough;
}

}  // namespace

Rough takeIn(const TriangleMesh& raw, Progress* progress) {
    return takeInShell(raw, -1, progress);
}

Rough takeInAsked(const TriangleMesh& raw, const IntakeRequest& request, Progress* progress) {
    if (!(request.unit_mm > 0.0) || !std::isfinite(request.unit_mm))
        throw Error(ErrorCode::BadUsage, "A unit of length must be above zero.", "Choose a unit.");
    TriangleMesh mesh = raw;
    std::vector<Finding> asked;
    if (request.unit_mm != 1.0) {
        for (Eigen::Vector3d& v : mesh.vertices)
            v *= request.unit_mm;
        asked.push_back({"unit of the file",
                         1,
                         "taken as " + request.unitName + " (" + formatExact(request.unit_mm) +
                             " mm), as asked",
                         {}});
    }
    if (request.closeHoles) {
        Finding closed = skin::closeHoles(mesh, tolerance::kWeldRelative, progress);
        if (closed.count > 0) asked.push_back(std::move(closed));
    }
    Rough rough = takeInShell(mesh, request.shell, progress);
    rough.report.trianglesRead = static_cast<long long>(raw.triangles.size());
    rough.report.findings.insert(rough.report.findings.begin(), asked.begin(), asked.end());
    return rough;
}

ScanChoices choicesFor(const TriangleMesh& raw, Progress* progress) {
    ScanChoices choices;
    choices.holes_mm = skin::openRims(raw, tolerance::kWeldRelative, progress);
    if (!choices.holes_mm.empty()) return choices;
    try {
        Intake intake(raw, progress);
        for (const Shell& shell : intake.shells())
            choices.shells.push_back({static_cast<long long>(shell.mesh.triangles.size()),
                                      std::abs(shell.volume_mm3), bounds(shell.mesh).extent()});
    } catch (const Error& fault) {
        // Refused for another reason: then there is nothing to choose.
        if (fault.code() != ErrorCode::BadInput) throw;
    }
    return choices;
}

std::vector<UnitChoice> unitChoices(const TriangleMesh& raw, double density_g_cm3) {
    struct Unit {
        const char* name;
        double mm;
    };
    static constexpr Unit kUnits[] = {
        {"mm", 1.0}, {"um", 1e-3}, {"cm", 10.0}, {"inch", 25.4}, {"m", 1000.0}};
    const Eigen::Vector3d extent = bounds(raw).extent();
    const double volume = std::abs(signedVolume_mm3(raw));
    std::vector<UnitChoice> choices;
    for (const Unit& unit : kUnits) {
        const double largest = extent.maxCoeff() * unit.mm;
        const bool usual = largest >= kUsuallyOver_mm && largest <= kUsuallyUnder_mm;
        if (unit.mm != 1.0 && !usual) continue;
        choices.push_back({unit.name, unit.mm, unit.mm * extent,
                           carats(volume * unit.mm * unit.mm * unit.mm, density_g_cm3)});
    }
    return choices;
}

bool unitIsDoubtful(const TriangleMesh& raw) {
    // Roughs that are planned one by one are between these; outside the planner is asked.
    constexpr double kFewBelow_mm = 1.5;
    constexpr double kFewAbove_mm = 60.0;
    const double largest = bounds(raw).extent().maxCoeff();
    return largest < kFewBelow_mm || largest > kFewAbove_mm;
}

Rough takeInFile(const std::filesystem::path& file, Progress* progress) {
    const TriangleMesh raw = readMeshFile(file, progress);
    try {
        return takeIn(raw, progress);
    } catch (const Error& fault) {
        if (fault.code() != ErrorCode::BadInput) throw;
        throw Error(fault.code(), file.string() + ": " + fault.message(), fault.remedy());
    }
}

std::vector<TriangleMesh> splitShells(const TriangleMesh& raw, Progress* progress) {
    Intake intake(raw, progress);
    std::vector<TriangleMesh> parts;
    const auto total = static_cast<double>(intake.shells().size());
    bool someInward = false, someOutward = false;
    for (Shell& shell : intake.shells()) {
        (shell.volume_mm3 < 0.0 ? someInward : someOutward) = true;
    }
    // One inside-out file is a matter of convention; shells that disagree mean a hollow body.
    if (someInward && someOutward) {
        std::string inward;
        for (std::size_t i = 0; i < intake.shells().size(); ++i)
            if (intake.shells()[i].volume_mm3 < 0.0 && inward.size() < 60)
                inward += (inward.empty() ? "" : ", ") + std::to_string(i + 1);
        refuse("Of " + std::to_string(intake.shells().size()) +
                   " shells some are inside-out and some are not; shell " + inward +
                   " faces inward.",
               "Turn every shell outward; a hollow body cannot be taken in.");
    }
    for (Shell& shell : intake.shells()) {
        const double done = static_cast<double>(parts.size());
        intake.finish(shell, 0.5 + 0.5 * done / total, 0.5 + 0.5 * (done + 1.0) / total);
        parts.push_back(std::move(shell.mesh));
    }
    return parts;
}

}  // namespace macle
