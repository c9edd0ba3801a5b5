#include "app/print/page_target.h"

namespace macle::app {

NoPages::NoPages() : dot_(1, 1, QImage::Format_ARGB32_Premultiplied), painter_(&dot_) {}

QPainter& NoPages::page(int /*number*/) {
    return painter_;
}

OnePage::OnePage(QPainter& painter, int number, double dotsPerInch)
    : painter_(painter), number_(number) {
    painter_.save();
    const double scale = dotsPerInch / kUnitsPerInch;
    painter_.scale(scale, scale);
    painter_.setRenderHints(QPainter::Antialiasing | QPainter::TextAntialiasing);
}

OnePage::~OnePage() {
    painter_.restore();
}

QPainter& OnePage::page(int number) {
    return number == number_ ? painter_ : others_.page(number);
}

}  // namespace macle::app
