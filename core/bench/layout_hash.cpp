#include "core/bench/layout_hash.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/numbers.h"
#include "core/base/sha256.h"
#include "core/cut/library.h"

namespace macle {

namespace {

// Canonical text: one value after another, each ended by a newline, strings with their length.
class Canonical {
  public:
    void word(std::string_view text) {
        sum_.add(std::to_string(text.size()));
        sum_.add(":");
        sum_.add(text);
        sum_.add("\n");
    }
    void number(double value) {
        sum_.add(formatExact(value == 0.0 ? 0.0 : value));  // no difference between 0 and -0
        sum_.add("\n");
    }
    void count(std::size_t value) {
        sum_.add(std::to_string(value));
        sum_.add("\n");
    }
    void vector(const Eigen::Vector3d& v) {
        for (int k = 0; k < 3; ++k)
            number(v[k]);
    }
    // q and -q are one rotation.
    void rotation(Eigen::Quaterniond q) {
        q.normalize();
        const std::array<double, 4> c = {q.w(), q.x(), q.y(), q.z()};
        const auto leading = std::find_if(c.begin(), c.end(), [](double v) { return v != 0.0; });
        const double sign = leading != c.end() && *leading < 0.0 ? -1.0 : 1.0;
        for (const double v : c)
            number(sign * v);
    }
    void mesh(const TriangleMesh& m) {
        count(m.vertices.size());
        for (const Eigen::Vector3d& v : m.vertices)
            vector(v);
        count(m.triangles.size());
        for (const auto& t : m.triangles)
            for (const std::uint32_t corner : t)
                count(corner);
    }
    std::string hex() { return sum_.hex(); }

  private:
    Sha256 sum_;
};

void addStone(Canonical& text, const Stone& stone) {
    text.word(stone.material.name);
    text.number(stone.material.density_g_cm3);
    text.mesh(stone.rough.mesh);
    text.count(stone.defects.size());
    for (const Defect& defect : stone.defects) {
        text.word(defect.name);
        text.word(kindName(defect.kind));
        text.count(std::size_t(std::max(0, defect.severity)));
        text.word(policyName(defect.policy));
        text.number(defect.margin_mm);
        if (const auto* mesh = std::get_if<TriangleMesh>(&defect.shape)) {
            text.word("mesh");
            text.mesh(*mesh);
        } else if (const auto* ellipsoid = std::get_if<Ellipsoid>(&defect.shape)) {
            text.word("ellipsoid");
            text.vector(ellipsoid->centre_mm);
            text.vector(ellipsoid->halfAxes_mm);
            text.rotation(ellipsoid->rotation);
        } else {
            const auto& corners = std::get<Sheet>(defect.shape).corners_mm;
            text.word("sheet");
            text.count(corners.size());
            for (const Eigen::Vector3d& corner : corners)
                text.vector(corner);
        }
    }
}

void addCut(Canonical& text, const PlannedStone& planned) {
    const Design design = designOf(planned);
    const Placement& placement = planned.placement;
    text.word(design.cut);
    const auto proportions = fullProportions(design);
    text.count(proportions.size());
    for (const auto& [key, value] : proportions) {
        text.word(key);
        text.number(value);
    }
    if (!design.changes.empty() || !cutFiles(design.cut).empty()) {
        // Words round the numbers, and the name of a works' own cut may come to mean another: the
        // planes do not.
        text.count(design.parts.size());
        for (const ConvexPart& part : design.parts) {
            text.count(part.facets.size());
            for (const Facet& facet : part.facets) {
                text.word(facet.name);
                text.vector(facet.normal);
                text.number(facet.distance);
            }
        }
    }
    text.rotation(placement.rotation);
    text.vector(placement.translation_mm);
    text.number(placement.size_mm);
    text.number(planned.rules.allowance_mm);
}

void addSaws(Canonical& text, const std::vector<Saw>& saws) {
    text.count(saws.size());
    for (const Saw& saw : saws) {
        text.count(static_cast<std::size_t>(std::max(0, saw.piece)));
        text.vector(saw.normal);
        text.number(saw.offset_mm);
        text.number(saw.kerf_mm);
        text.word(saw.v ? "v" : "parallel");
        if (!saw.v) continue;
        text.vector(saw.v->beam);
        text.number(saw.v->exit_mm);
    }
}

}  // namespace

// The proportions with every standard value written out, so that a value left to the standard and
// the same value given make the same layout.
std::map<std::string, double> fullProportions(const Design& design) {
    std::map<std::string, double> all = design.proportions;
    for (const CutInfo& info : cutLibrary())
        if (info.name == design.cut)
            for (const ProportionInfo& p : info.proportions)
                all.emplace(p.key, p.standard);
    return all;
}

std::string layoutHash(const Stone& stone, const Layout& layout) {
    Canonical text;
    if (layout.saws.empty() && layout.stones.size() == 1) {
        text.word("macle layout 2");
        addStone(text, stone);
        addCut(text, layout.main());
        return text.hex();
    }
    text.word("macle layout 3");
    addStone(text, stone);
    addSaws(text, layout.saws);
    text.count(layout.stones.size());
    for (const PlannedStone& planned : layout.stones) {
        text.count(static_cast<std::size_t>(std::max(0, planned.piece)));
        addCut(text, planned);
    }
    return text.hex();
}

}  // namespace macle
