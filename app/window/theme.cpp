#include "app/window/theme.h"

#include <QApplication>
#include <QPainter>
#include <QProxyStyle>
#include <QStyleFactory>
#include <QToolTip>
#include <QWidget>
#include <algorithm>
#include <array>
#include <utility>

#include "app/window/sketch.h"

namespace macle::app {
namespace {

bool systemIsDark = false;

// Fusion without pictures on the buttons of dialogs: they are coloured by habit, not by meaning.
class PlainFusion : public QProxyStyle {
  public:
    PlainFusion() : QProxyStyle(QStyleFactory::create("Fusion")) {}

    int styleHint(StyleHint hint, const QStyleOption* option, const QWidget* widget,
                  QStyleHintReturn* returned) const override {
        if (hint == SH_DialogButtonBox_ButtonsHaveIcons) return 0;
        return QProxyStyle::styleHint(hint, option, widget, returned);
    }
};

QColor grey(int level) {
    return QColor(level, level, level);
}

QPalette lightPalette() {
    QPalette p;
    p.setColor(QPalette::Window, grey(240));
    p.setColor(QPalette::WindowText, grey(24));
    p.setColor(QPalette::Base, grey(255));
    p.setColor(QPalette::AlternateBase, grey(246));
    p.setColor(QPalette::Text, grey(20));
    p.setColor(QPalette::Button, grey(232));
    p.setColor(QPalette::ButtonText, grey(24));
    p.setColor(QPalette::BrightText, grey(255));
    p.setColor(QPalette::ToolTipBase, grey(252));
    p.setColor(QPalette::ToolTipText, grey(24));
    p.setColor(QPalette::PlaceholderText, grey(110));
    p.setColor(QPalette::Light, grey(255));
    p.setColor(QPalette::Midlight, grey(246));
    p.setColor(QPalette::Mid, grey(190));
    p.setColor(QPalette::Dark, grey(150));
    p.setColor(QPalette::Shadow, grey(110));
    p.setColor(QPalette::Highlight, QColor(0, 90, 156));
    p.setColor(QPalette::HighlightedText, grey(255));
    p.setColor(QPalette::Link, QColor(0, 90, 156));
    p.setColor(QPalette::LinkVisited, QColor(0, 90, 156));
    for (const auto role : {QPalette::WindowText, QPalette::Text, QPalette::ButtonText})
        p.setColor(QPalette::Disabled, role, grey(146));
    p.setColor(QPalette::Disabled, QPalette::Base, grey(244));
    p.setColor(QPalette::Disabled, QPalette::Highlight, grey(190));
    return p;
}

QPalette darkPalette() {
    QPalette p;
    p.setColor(QPalette::Window, grey(40));
    p.setColor(QPalette::WindowText, grey(228));
    p.setColor(QPalette::Base, grey(28));
    p.setColor(QPalette::AlternateBase, grey(34));
    p.setColor(QPalette::Text, grey(232));
    p.setColor(QPalette::Button, grey(56));
    p.setColor(QPalette::ButtonText, grey(230));
    p.setColor(QPalette::BrightText, grey(255));
    p.setColor(QPalette::ToolTipBase, grey(62));
    p.setColor(QPalette::ToolTipText, grey(236));
    p.setColor(QPalette::PlaceholderText, grey(150));
    p.setColor(QPalette::Light, grey(84));
    p.setColor(QPalette::Midlight, grey(66));
    p.setColor(QPalette::Mid, grey(78));
    p.setColor(QPalette::Dark, grey(22));
    p.setColor(QPalette::Shadow, grey(8));
    p.setColor(QPalette::Highlight, QColor(74, 144, 200));
    p.setColor(QPalette::HighlightedText, grey(8));
    p.setColor(QPalette::Link, QColor(122, 182, 226));
    p.setColor(QPalette::LinkVisited, QColor(122, 182, 226));
    for (const auto role : {QPalette::WindowText, QPalette::Text, QPalette::ButtonText})
        p.setColor(QPalette::Disabled, role, grey(122));
    p.setColor(QPalette::Disabled, QPalette::Base, grey(36));
    p.setColor(QPalette::Disabled, QPalette::Highlight, grey(70));
    return p;
}

bool darkNow() {
    const QPalette p = QApplication::palette();
    return p.color(QPalette::Window).lightness() < p.color(QPalette::WindowText).lightness();
}

}  // namespace

void rememberSystemTheme() {
    systemIsDark = darkNow();
}

render::Theme resolved(ThemeChoice choice) {
    const bool dark =
        choice == ThemeChoice::Dark || (choice == ThemeChoice::FollowSystem && systemIsDark);
    return dark ? render::Theme::Dark : render::Theme::Light;
}

void applyTheme(render::Theme theme) {
    const QPalette p = theme == render::Theme::Dark ? darkPalette() : lightPalette();
    static bool styled = false;
    if (!std::exchange(styled, true)) QApplication::setStyle(new PlainFusion);
    QApplication::setPalette(p);
    QToolTip::setPalette(p);
}

QColor severityColour(int severity) {
    // magma at 0.15, 0.35, 0.55, 0.75, 0.95
    static const std::array<QColor, 5> ramp = {QColor(37, 18, 80), QColor(107, 29, 129),
                                               QColor(183, 55, 121), QColor(247, 112, 92),
                                               QColor(252, 236, 174)};
    return ramp[static_cast<std::size_t>(std::clamp(severity, 1, 5) - 1)];
}

QPixmap severitySwatch(int severity, int side_px, double pixelRatio, const QColor& rim) {
    const int side = static_cast<int>(side_px * pixelRatio);
    QPixmap pixmap(side, side);
    pixmap.setDevicePixelRatio(pixelRatio);
    pixmap.fill(Qt::transparent);
    QPainter painter(&pixmap);
    painter.setPen(QPen(rim, 1.0));
    painter.setBrush(severityColour(severity));
    painter.drawRect(QRectF(0.5, 0.5, side_px - 1.0, side_px - 1.0));
    return pixmap;
}

QString severityLabel(int severity) {
    static const std::array<const char*, 5> words = {"slight", "small", "medium", "serious",
                                                     "severe"};
    const int level = std::clamp(severity, 1, 5);
    return QString("%1 %2").arg(level).arg(words[static_cast<std::size_t>(level - 1)]);
}

QColor attentionColour() {
    // Vermilion of the colour-blind-safe set of Okabe and Ito (2008), darkened on light grounds.
    return darkNow() ? QColor(255, 150, 90) : QColor(168, 60, 0);
}

QColor quietText() {
    return darkNow() ? grey(172) : grey(88);
}

QColor plainText() {
    return QApplication::palette().color(QPalette::WindowText);
}

SketchColours sketchColours() {
    return darkNow() ? SketchColours{grey(44), grey(92), grey(244), grey(30)}
                     : SketchColours{grey(214), grey(156), grey(252), grey(50)};
}

void colourText(QWidget* widget, const QColor& colour) {
    // From an empty palette, so that only the text keeps a colour of its own when the theme
    // changes.
    QPalette p;
    p.setResolveMask(0);
    for (const auto role : {QPalette::WindowText, QPalette::Text})
        for (const auto group : {QPalette::Active, QPalette::Inactive, QPalette::Disabled})
            p.setColor(group, role, colour);
    widget->setPalette(p);
}

}  // namespace macle::app
