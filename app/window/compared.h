// What the views that compare layouts show: figures, and their values for each layout. Made
// elsewhere (core/appraise) and shown alike by the table of differences and the chart.
// Plain values; any thread.
#pragma once

#include <QLocale>
#include <QString>
#include <optional>
#include <vector>

namespace macle::app {

enum class Better { More, Less, Neither };

struct ComparedFigure {
    QString title;
    QString unit;  // empty: none
    int decimals = 2;
    Better better = Better::More;
    // Of a figure on a scale of words: value k is steps[k], the best first or last as `better`
    // says.
    std::vector<QString> steps;
};

struct ComparedValue {
    std::optional<double> value;
    QString missing;  // why there is none, in words
};

// "4.45 ct", "VS1"; without the unit where it stands elsewhere. Of a value that is there.
QString valueText(const ComparedFigure& figure, double value, const QLocale& locale,
                  bool withUnit = true);

// "+0.12 ct", "±0"; on a scale of words "2 steps worse", "same".
QString differenceText(const ComparedFigure& figure, double difference, const QLocale& locale);

// Indices of the best of a row, all that are equal as shown; empty where no value is better than
// another, or fewer than two are known.
std::vector<int> bestOf(const ComparedFigure& figure, const std::vector<ComparedValue>& values);

}  // namespace macle::app
