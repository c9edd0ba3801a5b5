#include "app/window/comparison_views.h"

#include <QCoreApplication>
#include <algorithm>

#include "core/appraise/clarity_grades.h"
#include "core/base/numbers.h"

namespace macle::app {
namespace {

QString tr(const char* text) {
    return QCoreApplication::translate("Comparison", text);
}

QString textOf(const std::string& text) {
    return QString::fromStdString(text);
}

std::vector<QString> gradeWords() {
    std::vector<QString> words;
    for (const std::string& grade : clarityGrades())
        words.push_back(textOf(grade));
    return words;
}

bool inWords(const macle::ComparedRow& row) {
    return std::any_of(row.cells.begin(), row.cells.end(), [&](const ComparedCell& cell) {
        if (!cell.value) return false;
        const std::string digits = formatFixed(*cell.value, row.decimals);
        return cell.text.compare(0, digits.size(), digits) != 0;
    });
}

Merit meritOf(macle::Better better) {
    switch (better) {
        case macle::Better::Higher:
            return Merit::More;
        case macle::Better::Lower:
            return Merit::Less;
        case macle::Better::Neither:
            break;
    }
    return Merit::Neither;
}

template <class Number>
ShownValue known(const std::optional<Number>& value, const QString& otherwise) {
    if (!value) return {{}, otherwise, {}};
    return {static_cast<double>(*value), {}, {}};
}

}  // namespace

std::vector<ShownRow> shownRows(const Comparison& comparison) {
    std::vector<ShownRow> rows;
    for (const macle::ComparedRow& row : comparison.rows) {
        const bool words = inWords(row);
        ShownRow shown;
        shown.figure = {textOf(row.title), textOf(row.unit), row.decimals, meritOf(row.better),
                        words ? gradeWords() : std::vector<QString>{}};
        shown.note = textOf(row.note);
        for (const ComparedCell& cell : row.cells) {
            ShownValue value;
            value.value = cell.value;
            if (!cell.value) value.missing = textOf(cell.text);
            if (cell.value && words) value.words = textOf(cell.text);
            shown.values.push_back(value);
        }
        rows.push_back(std::move(shown));
    }
    return rows;
}

ChartContent chartOf(const Comparison& comparison) {
    ChartContent content;
    for (const std::string& name : comparison.names)
        content.candidates.push_back({textOf(name), {}, true, {}});
    for (const ShownRow& row : shownRows(comparison)) {
        content.figures.push_back(row.figure);
        for (std::size_t k = 0; k < content.candidates.size(); ++k)
            content.candidates[k].values.push_back(row.values.at(k));
    }
    return content;
}

ChartContent chartOf(const std::vector<CandidatePoint>& points) {
    ChartContent content;
    std::string currency;
    for (const CandidatePoint& point : points)
        if (currency.empty()) currency = point.currency;
    content.figures = {{tr("Weight"), tr("ct"), 2, Merit::More, {}},
                       {tr("Value"), textOf(currency), 0, Merit::More, {}},
                       {tr("Recovery"), QStringLiteral("%"), 1, Merit::More, {}},
                       {tr("Clarity"), {}, 0, Merit::Less, gradeWords()},
                       {tr("Chroma face-up"), {}, 1, Merit::Neither, {}},
                       {tr("Stones"), {}, 0, Merit::Neither, {}}};
    for (const CandidatePoint& point : points) {
        ChartCandidate one{textOf(point.name), {}, true, {}};
        const QString why = tr("not computed for this candidate");
        one.values = {known(std::optional(point.weight_ct), why),
                      known(point.value, why),
                      known(std::optional(point.recovery_percent), why),
                      known(point.clarityRank, why),
                      known(point.chroma, why),
                      known(std::optional(point.stones), why)};
        content.candidates.push_back(std::move(one));
    }
    return content;
}

}  // namespace macle::app
