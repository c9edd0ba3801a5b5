#include "core/bench/plan_sheet.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <ctime>
#include <map>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/sha256.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/bench/drawn_faces.h"
#include "core/bench/outline.h"
#include "core/bench/step_cautions.h"
#include "core/cut/library.h"

namespace macle {

namespace {

using Edge = std::array<Eigen::Vector2d, 2>;

TriangleMesh inCutFrame(TriangleMesh mesh, const Placement& placement) {
    const Eigen::Matrix3d back = placement.rotation.toRotationMatrix().transpose();
    for (Eigen::Vector3d& v : mesh.vertices)
        v = back * (v - placement.translation_mm);
    return mesh;
}

bool sameEdge(const Edge& a, const Edge& b) {
    const auto near = [](const Eigen::Vector2d& p, const Eigen::Vector2d& q) {
        return (p - q).norm() < tolerance::kInside_mm;
    };
    return (near(a[0], b[0]) && near(a[1], b[1])) || (near(a[0], b[1]) && near(a[1], b[0]));
}

// An edge is visible when one of its two facets faces the viewer: enough for a convex solid. Edges
// within a facet are none; parts name the facets they share alike.
void addEdges(const std::vector<DrawnFace>& faces, const ViewAxes& axes, bool dropGirdleEdges,
              SheetView& view) {
    using Corner = std::array<double, 3>;
    std::map<std::array<Corner, 2>, std::vector<const Facet*>> facetsAt;
    const auto key = [](const Eigen::Vector3d& at) { return Corner{at.x(), at.y(), at.z()}; };
    for (const DrawnFace& face : faces)
        for (std::size_t i = 0; i < face.corners.size(); ++i) {
            const Corner a = key(face.corners[i]);
            const Corner b = key(face.corners[(i + 1) % face.corners.size()]);
            facetsAt[{std::min(a, b), std::max(a, b)}].push_back(face.facet);
        }
    std::vector<Edge> hidden;
    for (const auto& [ends, facets] : facetsAt) {
        bool facing = false, girdleOnly = true, one = facets.size() > 1;
        for (const Facet* facet : facets) {
            facing = facing || facet->normal.dot(axes.toViewer()) > tolerance::kOnPlane_mm;
            girdleOnly = girdleOnly && facet->kind == FacetKind::Girdle;
            one = one && facet->name == facets.front()->name;
        }
        if (one || (girdleOnly && dropGirdleEdges)) continue;
        const Edge edge = {axes.project(Eigen::Vector3d(ends[0].data())),
                           axes.project(Eigen::Vector3d(ends[1].data()))};
        if ((edge[0] - edge[1]).norm() < tolerance::kInside_mm) continue;  // seen end-on
        (facing ? view.visibleEdges : hidden).push_back(edge);
    }
    for (const Edge& edge : hidden)
        if (std::none_of(view.visibleEdges.begin(), view.visibleEdges.end(),
                         [&](const Edge& seen) { return sameEdge(edge, seen); }))
            view.hiddenEdges.push_back(edge);
}

std::vector<SheetView> makeViews(const Stone& stone, const Design& design,
                                 const std::vector<ConvexSolid>& solids,
                                 const Placement& placement) {
    struct Wanted {
        const char* title;
        ViewAxes axes;
        bool fromSide;
    };
    const Eigen::Vector3d x = Eigen::Vector3d::UnitX(), y = Eigen::Vector3d::UnitY(),
                          z = Eigen::Vector3d::UnitZ();
    std::vector<Wanted> wanted = {{"From the table", {x, y}, false},
                                  {"From the culet", {x, -y}, false},
                                  {"From the side", {x, z}, true}};
    const Eigen::Vector3d size = boundsOf(solids).extent();
    constexpr double kRoundShare =
        0.01;  // length and width nearer than this: one side view will do
    if (std::abs(size.x() - size.y()) > kRoundShare * size.y())
        wanted.push_back({"From the end", {y, z}, true});

    const std::vector<DrawnFace> faces = drawnFaces(design, solids, placement.size_mm);
    const TriangleMesh skin = inCutFrame(stone.rough.mesh, placement);
    std::vector<TriangleMesh> defects;
    for (const Defect& defect : stone.defects)
        defects.push_back(inCutFrame(defectSurface(defect), placement));

    std::vector<SheetView> views;
    for (const Wanted& w : wanted) {
        SheetView view;
        view.title = w.title;
        addEdges(faces, w.axes, w.fromSide, view);
        view.roughOutline = outlineOf(skin, w.axes);
        for (const TriangleMesh& defect : defects)
            for (OutlineLoop& loop : outlineOf(defect, w.axes))
                view.defectOutlines.push_back(std::move(loop));
        view.width_mm = w.axes.right.cwiseAbs().dot(size);
        view.height_mm = w.axes.up.cwiseAbs().dot(size);
        views.push_back(std::move(view));
    }
    return views;
}

std::string pointText(const Eigen::Vector3d& p, int decimals) {
    return "(" + formatFixed(p.x(), decimals) + ", " + formatFixed(p.y(), decimals) + ", " +
           formatFixed(p.z(), decimals) + ")";
}

// "8.3 deg from the scan's +z axis"
std::string nearestAxis(const Eigen::Vector3d& direction) {
    int axis = 0;
    const double share = direction.cwiseAbs().maxCoeff(&axis);
    return formatFixed(degrees(std::acos(std::min(1.0, share))), 1) + " deg from the scan's " +
           (direction[axis] < 0 ? "-" : "+") + std::string(1, "xyz"[axis]) + " axis";
}

std::string referenceFaceText(const Stone& stone, const Placement& placement,
                              double tableHeight_mm) {
    const Eigen::Vector3d up = placement.rotation * Eigen::Vector3d::UnitZ();
    const Eigen::Vector3d length = placement.rotation * Eigen::Vector3d::UnitX();
    const double plane_mm = up.dot(placement.translation_mm) + tableHeight_mm;
    const auto& points = stone.rough.mesh.vertices;
    const auto along = [&](const Eigen::Vector3d& a, const Eigen::Vector3d& b) {
        return up.dot(a) < up.dot(b);
    };
    const auto [lowest, highest] = std::minmax_element(points.begin(), points.end(), along);
    const double above = up.dot(*highest) - plane_mm, below = plane_mm - up.dot(*lowest);
    std::string text =
        "The table. In the frame of the scan its plane is n.x = " + formatFixed(plane_mm, 3) +
        " mm with n = " + pointText(up, 5) + ", the outward direction, " + nearestAxis(up) +
        ". To find it: the highest point of the rough on the table side is " +
        pointText(*highest, 2) + " mm; ";
    text += above >= 0.0 ? "grind " + formatFixed(above, 3) +
                               " mm from that point, square to n, to reach the table"
                         : "the table lies " + formatFixed(-above, 3) + " mm above it";
    text += ". The opposite end of the rough, at " + pointText(*lowest, 2) + " mm, lies " +
            formatFixed(below, 3) +
            " mm below the table plane. Index 0 (azimuth 0 deg) points along " +
            pointText(length, 5) + ", " + nearestAxis(length) +
            "; azimuths run counter-clockwise seen from the table.";
    return text;
}

std::string millimetres(double value) {
    return formatFixed(value, 3) + " mm";
}
std::string caratText(double value) {
    return formatFixed(value, 3) + " ct";
}

std::vector<std::pair<std::string, std::string>> figureList(const Stone& stone,
                                                            const Appraisal& appraisal,
                                                            const Eigen::Vector3d& extent_mm,
                                                            const Placement& placement,
                                                            double allowance_mm) {
    std::vector<std::pair<std::string, std::string>> figures;
    figures.emplace_back("Rough weight (scan)", caratText(scanWeight_ct(stone)));
    if (stone.scale_ct) figures.emplace_back("Rough weight (scale)", caratText(*stone.scale_ct));
    if (stone.trusted == TrustedWeight::Scale && stone.scale_ct)
        figures.emplace_back("Weights scaled to the scale",
                             "x " + formatFixed(weightFactor(stone), 5));
    figures.emplace_back("Finished weight", caratText(appraisal.finished_ct));
    figures.emplace_back("Loss", caratText(appraisal.loss_ct));
    figures.emplace_back("Recovery", formatFixed(appraisal.recovery_percent, 2) + " %");
    figures.emplace_back("Size", millimetres(placement.size_mm));
    figures.emplace_back("Length x width x height", formatFixed(extent_mm.x(), 3) + " x " +
                                                        formatFixed(extent_mm.y(), 3) + " x " +
                                                        millimetres(extent_mm.z()));
    figures.emplace_back("Allowance for polishing", millimetres(allowance_mm));
    if (!appraisal.inside) {
        figures.emplace_back("Skin left on the stone",
                             formatFixed(appraisal.naturals_mm2, 3) + " mm2");
        figures.emplace_back("Weight the rough lacks", caratText(appraisal.loss_missing_ct));
    }
    figures.emplace_back("Material", stone.material.name + ", " +
                                         formatExact(stone.material.density_g_cm3) + " g/cm3");
    return figures;
}

std::vector<std::pair<std::string, std::string>> proportionList(
    const std::map<std::string, double>& proportions, const std::string& cut,
    const Eigen::Vector3d& extent_mm, double size_mm) {
    std::vector<std::pair<std::string, std::string>> list;
    for (const ProportionInfo& info : findCut(cut).proportions) {
        const auto found = proportions.find(info.key);
        if (found != proportions.end())
            list.emplace_back(info.label, formatFixed(found->second, 2) + " " + info.unit);
    }
    list.emplace_back("Total height",
                      formatFixed(100.0 * extent_mm.z() / size_mm, 2) + " % of the size");
    return list;
}

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

std::string today() {
    const std::time_t now = std::time(nullptr);
    std::tm parts{};
    localtime_r(&now, &parts);
    std::array<char, 16> text{};
    std::strftime(text.data(), text.size(), "%Y-%m-%d", &parts);
    return text.data();
}

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

void checkPlacement(const Placement& placement) {
    const bool sound = placement.rotation.coeffs().allFinite() &&
                       std::abs(placement.rotation.norm() - 1.0) < 1e-6 &&  // a unit quaternion
                       placement.translation_mm.allFinite() && std::isfinite(placement.size_mm) &&
                       placement.size_mm > 0.0;
    if (!sound)
        throw Error(ErrorCode::BadInput, "The placement is not usable.",
                    "Give a unit quaternion, a translation in mm and a size above 0 mm.");
}

}  // namespace

std::string layoutHash(const Stone& stone, const Design& design, const Placement& placement,
                       double allowance_mm) {
    Canonical text;
    text.word("macle layout 2");
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
    text.number(allowance_mm);
    return text.hex();
}

PlanSheet makePlanSheet(const Stone& stone, const RoughCutter& cutter, const Design& design,
                        const Placement& placement, const SheetRequest& request) {
    checkPlacement(placement);
    const std::vector<ConvexSolid> solids = solidsInCutFrame(design, placement.size_mm);
    const Box box = boundsOf(solids);

    PlanSheet sheet;
    sheet.stoneName = stone.name;
    sheet.layoutName = request.layoutName;
    sheet.state = request.state;
    sheet.cutTitle = findCut(design.cut).title;
    sheet.date = request.date.empty() ? today() : request.date;
    sheet.hash = layoutHash(stone, design, placement, request.allowance_mm);
    sheet.appraisal = appraise(stone, cutter, design, placement);
    sheet.figures =
        figureList(stone, sheet.appraisal, box.extent(), placement, request.allowance_mm);
    sheet.proportions =
        proportionList(fullProportions(design), design.cut, box.extent(), placement.size_mm);
    if (!design.changes.empty())
        sheet.proportions.emplace_back("Facets changed after that",
                                       std::to_string(design.changes.size()) + ", see cautions");
    const std::vector<FacetGroup> groups = facetGroups(design);
    sheet.facets = facetRows(design, placement.size_mm, groups);
    for (const FacetGroup& group : groups)
        sheet.workingOrder.push_back(group.what);
    sheet.workingOrder.emplace_back(
        "Polish the girdle, clean, and measure the stone against this sheet.");
    sheet.limits = request.limits;
    sheet.referenceFace = referenceFaceText(stone, placement, box.high.z());
    sheet.cautions = usualCautions();
    if (const std::string basis = weightBasis(stone); !basis.empty())
        sheet.cautions.insert(sheet.cautions.begin(),
                              basis + " Measure the stone before you rely on a length.");
    if (!design.changes.empty()) {
        std::string changes;
        for (const std::string& change : design.changes)
            changes += (changes.empty() ? "" : "; ") + change;
        sheet.cautions.insert(sheet.cautions.begin(),
                              "Facets were changed by hand after these proportions: " + changes +
                                  ". The facet table holds what is to be cut.");
    }
    sheet.views = makeViews(stone, design, solids, placement);
    return sheet;
}

}  // namespace macle
