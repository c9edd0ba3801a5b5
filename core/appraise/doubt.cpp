#include "core/appraise/doubt.h"

#include <algorithm>
#include <cmath>

#include "core/appraise/clarity_grades.h"
#include "core/base/draw.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/parallel.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/fit/gauge.h"
#include "core/solid/prepared_design.h"

namespace macle {

namespace {

constexpr std::size_t kNamed = 3;    // defects that may still show, named in the text
constexpr int kMostDraws = 50;       // for one sample
constexpr int kSamplesPerPiece = 4;  // a few milliseconds, so that cancel answers at once

struct Sample {
    double weight_ct = 0.0;
    int grade = 0;
    std::optional<double> value;
    std::vector<bool> shows;  // per defect
    int redrawn = 0;
};

void checkRules(const DoubtRules& rules) {
    const auto check = [](const char* what, double value, double most, const char* unit) {
        if (!(value >= 0.0 && value <= most))
            throw Error(
                ErrorCode::BadUsage,
                std::string("The doubt of ") + what + " is " + formatExact(value) + " " + unit +
                    ".",
                "Give a standard deviation from 0 to " + formatExact(most) + " " + unit + ".");
    };
    check("the scan", rules.scan_mm, kWidestDoubt_mm, "mm");
    check("a defect's place", rules.defect_mm, kWidestDoubt_mm, "mm");
    check("polished angles", rules.angle_deg, kWidestDoubt_deg, "degrees");
    check("polished lengths", rules.length_mm, kWidestDoubt_mm, "mm");
    if (rules.samples < 1 || rules.samples > kMostSamples || rules.threads < 0)
        throw Error(ErrorCode::BadUsage, "The number of samples or threads is out of range.",
                    "Give 1 to " + std::to_string(kMostSamples) + " samples.");
}

Defect shifted(Defect defect, const Eigen::Vector3d& by_mm) {
    if (auto* mesh = std::get_if<TriangleMesh>(&defect.shape))
        for (Eigen::Vector3d& v : mesh->vertices)
            v += by_mm;
    if (auto* ellipsoid = std::get_if<Ellipsoid>(&defect.shape)) ellipsoid->centre_mm += by_mm;
    if (auto* sheet = std::get_if<Sheet>(&defect.shape))
        for (Eigen::Vector3d& corner : sheet->corners_mm)
            corner += by_mm;
    return defect;
}

// The skin alone; defects are what the samples ask about.
Stone withoutDefects(const Stone& stone) {
    Stone bare;
    bare.rough = stone.rough;
    bare.material = stone.material;
    return bare;
}

class Doubt {
  public:
    Doubt(const Subject& subject, const ClarityScale& scale, const PriceTable* prices,
          const ValueQuery& query, const DoubtRules& rules, const ReflectionsOf& reflections)
        : subject_(subject),
          scale_(scale),
          prices_(prices),
          query_(query),
          rules_(rules),
          reflections_(reflections),
          info_(findCut(subject.cut)),
          planned_(completeProportions(info_, subject.proportions)),
          skin_(withoutDefects(subject.stone)),
          obstacles_(skin_) {
        inside_ =
            subject.cutter
                .finish(makeDesign(subject.cut, planned_, subject.edits), subject.placement, false)
                .inside;
    }

    bool inside() const { return inside_; }

    Sample plan() const {
        return judged(makeDesign(subject_.cut, planned_, subject_.edits), subject_.placement,
                      subject_.stone.defects);
    }

    Sample sample(int number) const {
        Draw draw(mixed(rules_.seed, 5, static_cast<std::uint64_t>(number)));
        const double scan_mm = rules_.scan_mm * draw.normal();
        std::vector<Defect> defects;
        for (const Defect& defect : subject_.stone.defects) {
            const double x = draw.normal(), y = draw.normal(), z = draw.normal();
            defects.push_back(shifted(defect, rules_.defect_mm * Eigen::Vector3d(x, y, z)));
        }
        for (int tries = 0; tries < kMostDraws; ++tries) {
            const std::optional<Design> design = drawnDesign(draw);
            if (!design) continue;
            Sample sample = judged(*design, fitted(*design, scan_mm), defects);
            sample.redrawn = tries;
            return sample;
        }
        throw Error(ErrorCode::NoSolution,
                    "With these deviations the proportions hardly ever meet in a stone.",
                    "Give smaller deviations of polishing.");
    }

  private:
    std::optional<Design> drawnDesign(Draw& draw) const {
        std::map<std::string, double> drawn = planned_;
        const double percent = 100.0 * rules_.length_mm / subject_.placement.size_mm;
        for (const ProportionInfo& p : info_.proportions) {
            const double by = draw.normal() * (p.unit == "deg" ? rules_.angle_deg : percent);
            double& value = drawn.at(p.key);
            // What the cut does without (a pointed culet, a knife edge) is not polished in by
            // chance.
            if (value != 0.0) value = std::clamp(value + by, p.low, p.high);
        }
        try {
            return makeDesign(subject_.cut, drawn, subject_.edits);
        } catch (const Error& error) {
            if (error.code() != ErrorCode::BadUsage) throw;
            return std::nullopt;  // the proportions do not meet one another
        }
    }

    // Never larger than planned; smaller where the skin lies further in than scanned or the design
    // reaches further out than planned.
    Placement fitted(const Design& design, double scan_mm) const {
        Placement placement = subject_.placement;
        if (!inside_) return placement;
        FitRules skin;
        skin.allowance_mm = std::max(0.0, scan_mm);
        const Gauge gauge(obstacles_, design, skin);
        const double largest = gauge.largest(placement.rotation, placement.translation_mm).size_mm;
        // Touching within the tolerance is planned so.
        if (largest < placement.size_mm - tolerance::kInside_mm) placement.size_mm = largest;
        if (!(placement.size_mm > 0.0))
            throw Error(ErrorCode::NoSolution,
                        "With these deviations nothing is left of the stone.",
                        "Give a smaller deviation of the scan.");
        return placement;
    }

    Sample judged(const Design& design, const Placement& placement,
                  const std::vector<Defect>& defects) const {
        Sample sample;
        const double volume_mm3 =
            inside_ ? prepareDesign(design)->volume * std::pow(placement.size_mm, 3)
                    : subject_.cutter.finish(design, placement, false).volume_mm3;
        sample.weight_ct = caratsOf(subject_.stone, volume_mm3);
        const auto seen =
            seenDefects(defects, PlacedDesign(design, placement), scale_, reflections_);
        sample.shows.assign(defects.size(), false);
        for (const SeenDefect& one : seen)
            sample.shows[static_cast<std::size_t>(one.defect)] = true;
        const ClarityFigure clarity = gradeClarity(scale_, seen, sample.weight_ct);
        sample.grade = clarity.grade;
        if (prices_) {
            ValueQuery query = query_;
            query.weight_ct = sample.weight_ct;
            query.clarity = clarity.name;
            sample.value = valueAlone(*prices_, query);
        }
        return sample;
    }

    const Subject& subject_;
    const ClarityScale& scale_;
    const PriceTable* prices_;
    const ValueQuery& query_;
    const DoubtRules& rules_;
    const ReflectionsOf& reflections_;
    const CutInfo& info_;
    std::map<std::string, double> planned_;
    Stone skin_;
    Obstacles obstacles_;
    bool inside_ = true;
};

std::string percentText(double share) {
    return formatFixed(100.0 * share, share > 0.0 && share < 0.01 ? 1 : 0) + " %";
}

// The grade at which so large a share of the samples is reached, cleanest first.
int gradeAt(const std::vector<double>& shares, double share) {
    constexpr double kRounding = 1e-9;  // of the sum of shares
    double sum = 0.0;
    for (std::size_t i = 0; i < shares.size(); ++i) {
        sum += shares[i];
        if (sum >= share - kRounding) return static_cast<int>(i);
    }
    return static_cast<int>(shares.size()) - 1;
}

void addWords(DoubtFigure& figure, const DoubtRules& rules, bool inside,
              const std::string& currency) {
    const Percentiles& w = figure.weight_ct;
    figure.text =
        "Weight " + formatFixed(w.p5, 3) + " to " + formatFixed(w.p95, 3) + " ct in 9 of 10 cases";
    if (figure.step_ct)
        figure.text += ", below " + formatFixed(*figure.step_ct, 2) + " ct in " +
                       percentText(figure.belowStep);
    figure.text += ". ";
    if (figure.value)
        figure.text += "Value " + formatFixed(figure.value->p5, 0) + " to " +
                       formatFixed(figure.value->p95, 0) + " " + currency + ". ";
    const std::string clean = clarityName(figure.grade.p5, true);
    const std::string low = clarityName(figure.grade.p95, true);
    figure.text += "Clarity " + (clean == low ? clean : clean + " to " + low) + ". ";
    std::vector<const DefectDoubt*> showing;
    for (const DefectDoubt& defect : figure.defects)
        if (!defect.planned) showing.push_back(&defect);
    std::stable_sort(
        showing.begin(), showing.end(),
        [](const DefectDoubt* a, const DefectDoubt* b) { return a->shows > b->shows; });
    for (std::size_t i = 0; i < std::min(showing.size(), kNamed); ++i)
        figure.text +=
            showing[i]->name + " still shows in " + percentText(showing[i]->shows) + ". ";
    if (showing.size() > kNamed)
        figure.text += "So may " + std::to_string(showing.size() - kNamed) + " more. ";
    figure.text += kPlanningEstimate;
    figure.reasons = {{"Standard deviation of the skin", rules.scan_mm, "mm", 3},
                      {"Standard deviation of each defect's place", rules.defect_mm, "mm", 3},
                      {"Standard deviation of polished angles", rules.angle_deg, "deg", 2},
                      {"Standard deviation of polished lengths", rules.length_mm, "mm", 3},
                      {"Samples", static_cast<double>(figure.samples), "", 0},
                      {"Draws whose proportions did not meet, drawn again",
                       static_cast<double>(figure.redrawn), "", 0},
                      {"Weight, 5 of 100 are lighter than", w.p5, "ct", 3},
                      {"Weight, median", w.p50, "ct", 3},
                      {"Weight, 5 of 100 are heavier than", w.p95, "ct", 3},
                      {"Weight, standard deviation", w.deviation, "ct", 4},
                      {"Clarity, median " + clarityName(figure.grade.p50, true), {}, "", 0}};
    for (const DefectDoubt& defect : figure.defects)
        figure.reasons.push_back(
            {defect.name +
                 (defect.planned ? " (left inside as planned)" : " (cut away as planned)") +
                 " lies inside in",
             100.0 * defect.shows, "%", 1});
    if (!inside)
        figure.reasons.push_back(
            {"The cut reaches out of the rough as planned, so doubt of the skin is left out",
             {},
             "",
             0});
}

}  // namespace

Percentiles percentilesOf(std::vector<double> values) {
    require(!values.empty(), "percentiles are of at least one value");
    std::sort(values.begin(), values.end());
    const auto at = [&](double share) {
        const double place = share * static_cast<double>(values.size() - 1);
        const auto below = static_cast<std::size_t>(place);
        const std::size_t above = std::min(below + 1, values.size() - 1);
        return values[below] +
               (place - static_cast<double>(below)) * (values[above] - values[below]);
    };
    Percentiles result{at(0.05), at(0.5), at(0.95), 0.0, 0.0};
    for (const double value : values)
        result.mean += value / static_cast<double>(values.size());
    for (const double value : values)
        result.deviation += (value - result.mean) * (value - result.mean);
    result.deviation = values.size() > 1
                           ? std::sqrt(result.deviation / static_cast<double>(values.size() - 1))
                           : 0.0;
    return result;
}

DoubtFigure doubtOf(const Subject& subject, const ClarityScale& scale, const PriceTable* prices,
                    const ValueQuery& query, const DoubtRules& rules,
                    const ReflectionsOf& reflections, Progress* progress) {
    checkRules(rules);
    const Doubt doubt(subject, scale, prices, query, rules, reflections);
    const Sample plan = doubt.plan();
    std::vector<Sample> samples(static_cast<std::size_t>(rules.samples));
    const int pieces = (rules.samples + kSamplesPerPiece - 1) / kSamplesPerPiece;
    forEachPiece(pieces, rules.threads, progress, [&](int piece) {
        const int end = std::min(rules.samples, (piece + 1) * kSamplesPerPiece);
        for (int i = piece * kSamplesPerPiece; i < end; ++i)
            samples[static_cast<std::size_t>(i)] = doubt.sample(i);
    });

    DoubtFigure figure;
    figure.samples = rules.samples;
    figure.grades.assign(clarityGrades().size(), 0.0);
    if (prices) {
        ValueQuery planned = query;
        planned.weight_ct = plan.weight_ct;
        planned.clarity = clarityName(plan.grade, plan.weight_ct >= scale.sub_grades_from_ct);
        figure.step_ct = valueOf(*prices, planned).bandFrom_ct;
    }
    const double one = 1.0 / rules.samples;
    std::vector<double> weights, values;
    std::vector<double> shows(subject.stone.defects.size(), 0.0);
    for (const Sample& sample : samples) {
        weights.push_back(sample.weight_ct);
        figure.grades[static_cast<std::size_t>(sample.grade)] += one;
        figure.redrawn += sample.redrawn;
        if (sample.value) values.push_back(*sample.value);
        for (std::size_t i = 0; i < shows.size(); ++i)
            if (sample.shows[i]) shows[i] += one;
        if (figure.step_ct && roundedHundredths(sample.weight_ct, query.rounding) <
                                  static_cast<int>(std::lround(100.0 * *figure.step_ct)))
            figure.belowStep += one;
    }
    figure.weight_ct = percentilesOf(weights);
    figure.grade = {gradeAt(figure.grades, 0.05), gradeAt(figure.grades, 0.5),
                    gradeAt(figure.grades, 0.95)};
    if (prices) figure.unpriced = 1.0 - one * static_cast<double>(values.size());
    if (!values.empty()) figure.value = percentilesOf(values);
    for (std::size_t i = 0; i < shows.size(); ++i) {
        const double share = std::min(1.0, shows[i]);
        if (plan.shows[i] ? share >= 1.0 - 0.5 * one : share <= 0.0) continue;
        figure.defects.push_back({static_cast<int>(i), subject.stone.defects[i].name,
                                  static_cast<bool>(plan.shows[i]), share});
    }
    addWords(figure, rules, doubt.inside(), prices ? prices->currency : "");
    return figure;
}

}  // namespace macle
