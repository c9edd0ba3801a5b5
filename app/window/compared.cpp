#include "app/window/compared.h"

#include <QCoreApplication>
#include <algorithm>
#include <cmath>

namespace macle::app {
namespace {

constexpr QChar kMinus(0x2212);

QString tr(const char* text, int count = -1) {
    return QCoreApplication::translate("Compared", text, nullptr, count);
}

// As shown: what reads alike is alike.
double rounded(const ShownFigure& figure, double value) {
    const double unit = std::pow(10.0, figure.steps.empty() ? figure.decimals : 0);
    return std::round(value * unit) / unit;
}

QString number(const ShownFigure& figure, double value, const QLocale& locale) {
    const QString digits = locale.toString(std::abs(value), 'f', figure.decimals);
    return rounded(figure, value) < 0.0 ? kMinus + digits : digits;
}

QString withUnit(const QString& number, const ShownFigure& figure) {
    return figure.unit.isEmpty() ? number : number + QChar(QChar::Nbsp) + figure.unit;
}

}  // namespace

QString valueText(const ShownFigure& figure, double value, const QLocale& locale, bool unit) {
    if (!figure.steps.empty()) {
        const double last = static_cast<double>(figure.steps.size() - 1);
        return figure.steps[static_cast<std::size_t>(std::clamp(std::round(value), 0.0, last))];
    }
    const QString digits = number(figure, value, locale);
    return unit ? withUnit(digits, figure) : digits;
}

QString differenceText(const ShownFigure& figure, double difference, const QLocale& locale) {
    const double shown = rounded(figure, difference);
    if (!figure.steps.empty()) {
        const int steps = static_cast<int>(std::abs(shown));
        if (steps == 0) return tr("same");
        const QString count = steps == 1 ? tr("1 step") : tr("%1 steps").arg(steps);
        if (figure.better == Merit::Neither)
            return (shown > 0.0 ? QStringLiteral("+") : QString(kMinus)) + count;
        return (shown > 0.0) == (figure.better == Merit::More) ? tr("%1 better").arg(count)
                                                               : tr("%1 worse").arg(count);
    }
    if (shown == 0.0) return QStringLiteral("±0");
    const QString digits = number(figure, difference, locale);
    return withUnit(shown > 0.0 ? QLatin1Char('+') + digits : digits, figure);
}

std::vector<int> bestOf(const ShownFigure& figure, const std::vector<ShownValue>& values) {
    if (figure.better == Merit::Neither) return {};
    const double sign = figure.better == Merit::More ? 1.0 : -1.0;
    std::optional<double> best;
    std::optional<double> worst;
    for (const ShownValue& one : values) {
        if (!one.value) continue;
        const double merit = sign * rounded(figure, *one.value);
        best = best ? std::max(*best, merit) : merit;
        worst = worst ? std::min(*worst, merit) : merit;
    }
    if (!best || *best == *worst) return {};
    std::vector<int> found;
    for (std::size_t k = 0; k < values.size(); ++k)
        if (values[k].value && sign * rounded(figure, *values[k].value) == *best)
            found.push_back(static_cast<int>(k));
    return found;
}

}  // namespace macle::app
