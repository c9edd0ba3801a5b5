// What the views that compare layouts show: figures, and their values for each layout. Made
// elsewhere (core/appraise) and shown alike by the table of differences and the chart.
// Plain values; any thread.
#pragma once

#include <QLocale>
#include <QString>
#include <optional>
#include <vector>

namespace macle::app {

enum class Merit { More, Less, Neither };

struct ShownFigure {
    QString title;
    QString unit;  // empty: none
    int decimals = 2;
    Merit better = Merit::More;
    // Of a figure on a scale of words: value k is steps[k], the best first or last as `better`
    // says.
    std::vector<QString> steps;
};

struct ShownValue {
    std::optional<double> value;
    QString missing;  // why there is none, in words
    QString words;    // in place of the value's own text, where it says more
};

// "4.45 ct", "VS1"; without the unit where it stands elsewhere. Of a value that is there.
QString valueText(const ShownFigure& figure, double value, const QLocale& locale,
                  bool withUnit = true);

// "+0.12 ct", "±0"; on a scale of words "2 steps worse", "same".
QString differenceText(const ShownFigure& figure, double difference, const QLocale& locale);

// Indices of the best of a row, all that are equal as shown; empty where no value is better than
// another, or fewer than two are known.
std::vector<int> bestOf(const ShownFigure& figure, const std::vector<ShownValue>& values);

}  // namespace macle::app
