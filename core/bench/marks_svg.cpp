#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "core/base/numbers.h"
#include "core/bench/mark_views.h"
#include "core/bench/marks_file.h"
#include "core/bench/svg_sheet.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

// Landscape A4, longer where many curves need a row.
constexpr double kPage_mm = 297.0, kLeast_mm = 210.0, kMargin_mm = 9.0;
constexpr double kCellWide_mm = 93.0, kCellHigh_mm = 74.0;
constexpr double kDrawnWide_mm = 74.0, kDrawnHigh_mm = 54.0;
constexpr double kTop_mm = 24.0;
constexpr double kRow_mm = 3.9;
constexpr double kFullFace =
    0.5;  // a natural face is named where it is seen no steeper than 60 deg

std::string mm(double value) {
    return formatFixed(value, 3) + " mm";
}

// Okabe and Ito's set for every kind of sight; violet stands for planes that are cut.
Pen penOf(MarkKind kind) {
    switch (kind) {
        case MarkKind::Reference:
            return {"#6a3d9a", 0.4};
        case MarkKind::SawMiddle:
            return {"#0072b2", 0.12};
        case MarkKind::KerfBelow:
        case MarkKind::KerfAbove:
            return {"#d55e00", 0.16};
        case MarkKind::Girdle:
            return {"#009e73", 0.3};
    }
    return {};
}

// The largest of the steps times a power of ten that is at most `value`.
double roundDown(double value, const std::vector<double>& steps) {
    const double power = std::pow(10.0, std::floor(std::log10(value)));
    double best = power;
    for (const double step : steps)
        if (step * power <= value) best = step * power;
    return best;
}
double roundScale(double value) {
    return roundDown(value, {1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0});
}

std::string scaleName(double scale) {
    return scale >= 1.0 ? formatExact(scale) + ":1" : "1:" + formatFixed(1.0 / scale, 2);
}

void scaleBar(SvgSheet& sheet, double x, double y, double scale) {
    constexpr double kLongest_mm = 25.0;
    const double length = roundDown(kLongest_mm / scale, {2.0, 5.0});
    const Pen pen{"#222222", 0.3, false};
    sheet.line(x, y, x + scale * length, y, pen);
    sheet.line(x, y - 1.0, x, y + 1.0, pen);
    sheet.line(x + scale * length, y - 1.0, x + scale * length, y + 1.0, pen);
    sheet.text(x + scale * length + 1.5, y + 0.9, formatExact(length) + " mm", 2.4);
}

// Where a tag points to and where it stands: on what is seen of a mark, or else on what is hidden,
// far from the tags and letters that stand already.
struct TagPlace {
    Vector2d on = Vector2d::Zero();
    Vector2d at = Vector2d::Zero();
};
TagPlace tagPlace(const std::vector<DrawnRun>& runs, const std::vector<Vector2d>& placed,
                  const Vector2d& centre, double lead) {
    const bool any =
        std::any_of(runs.begin(), runs.end(), [](const DrawnRun& run) { return run.seen; });
    TagPlace best;
    double most = -1.0;
    constexpr std::size_t kTries = 24;
    for (const DrawnRun& run : runs) {
        if (run.seen != any) continue;
        for (std::size_t k = 0; k < kTries; ++k) {
            const Vector2d on = run.points[(2 * k + 1) * run.points.size() / (2 * kTries)];
            Vector2d away = on - centre;
            away = away.norm() > 0.0 ? away.normalized() : Vector2d::UnitX();
            for (const double turn : {1.0, 0.5, -1.0}) {
                const Vector2d at = on + lead * turn * away;
                double room = 2.0 * lead;
                for (const Vector2d& other : placed)
                    room = std::min(room, (other - at).norm());
                // Outwards is read more easily than across the drawing.
                if (turn < 1.0) room *= 0.7;
                if (room <= most) continue;
                most = room;
                best = {on, at};
            }
        }
    }
    return best;
}

void drawView(SvgSheet& sheet, const MarkView& view, const Marks& marks, double left, double top,
              double scale) {
    const Vector2d centre = 0.5 * (view.low + view.high);
    const double x = left + 0.5 * kCellWide_mm, y = top + 0.5 * (kCellHigh_mm + 4.0);
    const auto paper = [&](const Vector2d& p) -> Vector2d {
        return {x + scale * (p.x() - centre.x()), y - scale * (p.y() - centre.y())};
    };
    sheet.text(left + 1.0, top + 3.5, view.title, 3.0, true);
    sheet.beginView(view.title, x, y, centre, scale);
    sheet.path(view.outline, true, {"#777777", 0.2}, "outline of the rough");
    for (const bool seen : {false, true})
        for (std::size_t c = 0; c < view.runs.size(); ++c) {
            std::vector<std::vector<Vector2d>> lines;
            for (const DrawnRun& run : view.runs[c])
                if (run.seen == seen) lines.push_back(run.points);
            Pen pen = penOf(marks.curves[c].kind);
            pen.dashed = !seen;
            if (!seen) pen.width_mm *= 0.6;
            sheet.path(lines, false, pen, marks.curves[c].name);
        }
    sheet.endView();
    std::vector<Vector2d> placed;
    for (std::size_t p = 0; p < view.pointSeen.size(); ++p) {
        const Vector2d on = paper(view.axes.project(marks.references[0].points[p].point.place_mm));
        sheet.cross(on.x(), on.y(), !view.pointSeen[p]);
        // Places one behind the other get their letters side by side.
        Vector2d letter = view.axes.project(marks.references[0].points[p].point.place_mm) +
                          Vector2d(2.0, 2.0) / scale;
        const double step = 2.2 / scale;
        while (std::any_of(placed.begin(), placed.end(),
                           [&](const Vector2d& other) { return (other - letter).norm() < step; }))
            letter.x() += step;
        placed.push_back(letter);
        const Vector2d at = paper(letter);
        sheet.text(at.x(), at.y() + 1.0, std::string(1, static_cast<char>('A' + p)), 2.5, true,
                   "middle");
    }
    if (!marks.references.empty())
        for (const ReferenceAngle& angle : marks.references[0].angles) {
            if (!(angle.area_mm2 > 0.0) || !(angle.normal.dot(view.axes.toViewer()) > kFullFace))
                continue;
            const Vector2d on = paper(view.axes.project(angle.middle_mm));
            sheet.text(on.x(), on.y() + 0.8, angle.face, 2.1, false, "middle");
            placed.push_back(view.axes.project(angle.middle_mm));
        }
    constexpr double kLead_mm = 4.5;
    for (std::size_t c = 0; c < view.runs.size(); ++c) {
        const TagPlace place = tagPlace(view.runs[c], placed, centre, kLead_mm / scale);
        placed.push_back(place.at);
        const Pen pen = penOf(marks.curves[c].kind);
        const Vector2d on = paper(place.on), at = paper(place.at);
        sheet.line(on.x(), on.y(), at.x(), at.y(), {pen.colour, 0.15, false});
        sheet.tag(at.x(), at.y(), std::to_string(c + 1), pen.colour);
    }
}

// Each saw's longest loop rolled out: the way along it against the height over the first plane.
void drawUnrolled(SvgSheet& sheet, const Marks& marks, double left, double top) {
    const ReferenceFace& face = marks.references.front();
    struct Strip {
        std::size_t curve;
        std::vector<Vector2d> points;
    };
    std::vector<Strip> strips;
    double longest = 0.0, low = 0.0, high = 0.0;
    for (std::size_t c = 0; c < marks.curves.size(); ++c) {
        const MarkCurve& curve = marks.curves[c];
        if (curve.saw < 0) continue;
        const SectionLoop& loop = curve.loops.front();
        const std::size_t n = loop.points.size();
        std::size_t start = 0;
        for (std::size_t i = 0; i < n; ++i)
            if (face.index0.dot(loop.points[i]) > face.index0.dot(loop.points[start])) start = i;
        Strip strip{c, {}};
        double way = 0.0;
        for (std::size_t k = 0; k <= n; ++k) {
            const Vector3d& here = loop.points[(start + k) % n];
            const double height = face.plane.heightOf(here);
            strip.points.emplace_back(way, height);
            low = std::min(low, height);
            high = std::max(high, height);
            way += (loop.points[(start + k + 1) % n] - here).norm();
        }
        longest = std::max(longest, strip.points.back().x());
        strips.push_back(std::move(strip));
    }
    sheet.text(left + 1.0, top + 3.5, "Saws rolled out: height over the reference face", 3.0, true);
    if (!(longest > 0.0)) return;
    const double scale = roundScale(
        std::min(0.9 * kCellWide_mm / longest, kDrawnHigh_mm / std::max(high - low, 1e-3)));
    const double x = left + 4.0, y = top + 0.5 * (kCellHigh_mm + 4.0);
    const double middle = 0.5 * (low + high);
    sheet.beginView("Saws rolled out", x, y, {0.0, middle}, scale);
    sheet.path({{{0.0, 0.0}, {longest, 0.0}}}, false, {"#6a3d9a", 0.3}, "reference face");
    for (const Strip& strip : strips)
        sheet.path({strip.points}, false, penOf(marks.curves[strip.curve].kind),
                   marks.curves[strip.curve].name);
    sheet.endView();
    for (std::size_t s = 0; s < strips.size(); ++s) {
        const Strip& strip = strips[s];
        const std::size_t i = (2 * s + 1) * strip.points.size() / (2 * strips.size());
        sheet.tag(x + scale * strip.points[i].x(), y - scale * (strip.points[i].y() - middle) - 3.0,
                  std::to_string(strip.curve + 1), penOf(marks.curves[strip.curve].kind).colour);
    }
    sheet.text(left + 1.0, top + kCellHigh_mm - 2.0,
               "Scale " + scaleName(scale) +
                   "; from the place farthest along index 0, "
                   "counter-clockwise",
               2.3);
}

double describeFace(SvgSheet& sheet, const ReferenceFace& face, double left, double top,
                    std::size_t letters) {
    constexpr double kSize_mm = 2.5;
    sheet.text(left + 1.0, top + 3.5, "How to find the reference face", 3.0, true);
    double y = top + 8.0;
    for (const std::string& line : referenceFaceWords(face))
        y = sheet.paragraph(left + 1.0, y, line, letters, kSize_mm);
    return y;
}

}  // namespace

std::string marksSvg(const Marks& marks, const TriangleMesh& skin, const MarksHeading& heading) {
    const std::vector<MarkView> views = markViews(marks, skin);
    double wide = 0.0, high = 0.0;
    for (const MarkView& view : views) {
        wide = std::max(wide, (view.high - view.low).x());
        high = std::max(high, (view.high - view.low).y());
    }
    const double scale = roundScale(
        std::min(kDrawnWide_mm / std::max(wide, 1e-6), kDrawnHigh_mm / std::max(high, 1e-6)));
    SvgSheet sheet;
    const std::string title = "Marks on the skin: " + heading.stone + ", " + heading.layout;
    sheet.text(kMargin_mm, 12.0, title, 4.2, true);
    sheet.text(kMargin_mm, 17.5,
               "Views at " + scaleName(scale) +
                   " when printed at full size; lengths on the stone in mm. Solid: in sight. "
                   "Dashed: hidden, or inside the stone on the face of an earlier saw. Grey: "
                   "outline of the rough. Cross: a place in sight; ring: a hidden one.",
               2.6);
    scaleBar(sheet, kMargin_mm, 21.5, scale);
    const auto left = [](int column) { return kMargin_mm + column * kCellWide_mm; };
    for (int v = 0; v < 4; ++v)
        drawView(sheet, views[static_cast<std::size_t>(v)], marks, left(v % 3),
                 kTop_mm + (v / 3) * kCellHigh_mm, scale);
    double y = kTop_mm + 2.0 * kCellHigh_mm;
    if (!marks.references.empty()) {
        constexpr std::size_t kCellLetters = 66;
        const bool sawn = std::any_of(marks.curves.begin(), marks.curves.end(),
                                      [](const MarkCurve& curve) { return curve.saw >= 0; });
        if (sawn) drawUnrolled(sheet, marks, left(1), kTop_mm + kCellHigh_mm);
        y = std::max(y, describeFace(sheet, marks.references.front(), left(sawn ? 2 : 1),
                                     kTop_mm + kCellHigh_mm, (sawn ? 1 : 2) * kCellLetters));
    }
    y += 4.0;
    const std::size_t rows = (marks.curves.size() + 2) / 3;
    for (std::size_t c = 0; c < marks.curves.size(); ++c) {
        const MarkCurve& curve = marks.curves[c];
        const double x = left(static_cast<int>(c / std::max<std::size_t>(rows, 1)));
        const double at = y + kRow_mm * static_cast<double>(c % std::max<std::size_t>(rows, 1));
        sheet.line(x + 1.0, at - 0.8, x + 7.0, at - 0.8, penOf(curve.kind));
        std::string words = std::to_string(c + 1) + "  " + curve.name + ": " + mm(curve.length_mm);
        if (curve.length_mm - curve.skin_mm >= 0.5e-3)
            words += ", " + mm(curve.skin_mm) + " of it on skin";
        if (curve.loops.size() > 1) words += ", " + std::to_string(curve.loops.size()) + " loops";
        sheet.text(x + 8.5, at, words, 2.6);
    }
    y += kRow_mm * static_cast<double>(rows) + 2.0;
    constexpr std::size_t kLetters = 200;
    for (const std::string& remark : marks.remarks)
        y = sheet.paragraph(kMargin_mm, y, remark, kLetters, 2.5);
    for (const std::string& caution : marks.cautions)
        y = sheet.paragraph(kMargin_mm, y, caution, kLetters, 2.5);
    return sheet.document(kPage_mm, std::max(kLeast_mm, y + 4.0), title);
}

}  // namespace macle
