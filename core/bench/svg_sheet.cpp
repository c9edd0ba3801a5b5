#include "core/bench/svg_sheet.h"

#include <sstream>

#include "core/base/numbers.h"

namespace macle {

namespace {

constexpr double kClosest_mm = 0.05;  // on paper

std::string number(double value) {
    return formatFixed(value, 4);
}

std::string escaped(const std::string& words) {
    std::string text;
    for (const char c : words) {
        if (c == '&')
            text += "&amp;";
        else if (c == '<')
            text += "&lt;";
        else if (c == '>')
            text += "&gt;";
        else if (c == '"')
            text += "&quot;";
        else
            text += static_cast<unsigned char>(c) < ' ' ? ' ' : c;
    }
    return text;
}

std::string penText(const Pen& pen, double scale) {
    std::string text = " fill=\"none\" stroke=\"" + pen.colour + "\" stroke-width=\"" +
                       number(pen.width_mm / scale) +
                       "\" stroke-linejoin=\"round\" stroke-linecap=\"round\"";
    if (pen.dashed)
        text += " stroke-dasharray=\"" + number(1.0 / scale) + " " + number(0.8 / scale) + "\"";
    return text;
}

}  // namespace

void SvgSheet::text(double x, double y, const std::string& words, double size_mm, bool bold,
                    const std::string& anchor) {
    body_ += "<text x=\"" + number(x) + "\" y=\"" + number(y) + "\" font-size=\"" +
             number(size_mm) + "\" text-anchor=\"" + anchor + "\"" +
             (bold ? " font-weight=\"bold\"" : "") + ">" + escaped(words) + "</text>\n";
}

double SvgSheet::paragraph(double x, double y, const std::string& words, std::size_t letters,
                           double size_mm) {
    constexpr double kLeading = 1.35;
    std::istringstream in(words);
    std::string line, word;
    const auto flush = [&] {
        text(x, y, line, size_mm);
        y += kLeading * size_mm;
        line.clear();
    };
    while (in >> word) {
        if (!line.empty() && line.size() + 1 + word.size() > letters) flush();
        line += (line.empty() ? "" : " ") + word;
    }
    if (!line.empty()) flush();
    return y;
}

void SvgSheet::line(double x1, double y1, double x2, double y2, const Pen& pen) {
    body_ += "<line x1=\"" + number(x1) + "\" y1=\"" + number(y1) + "\" x2=\"" + number(x2) +
             "\" y2=\"" + number(y2) + "\"" + penText(pen, 1.0) + "/>\n";
}

void SvgSheet::tag(double x, double y, const std::string& words, const std::string& colour) {
    body_ += "<circle cx=\"" + number(x) + "\" cy=\"" + number(y) +
             "\" r=\"1.7\" fill=\"#ffffff\" stroke=\"" + colour + "\" stroke-width=\"0.25\"/>\n";
    text(x, y + 0.85, words, 2.3, true, "middle");
}

void SvgSheet::cross(double x, double y, bool hollow) {
    if (hollow) {
        body_ += "<circle cx=\"" + number(x) + "\" cy=\"" + number(y) +
                 "\" r=\"0.8\" fill=\"none\" stroke=\"#222222\" stroke-width=\"0.2\"/>\n";
        return;
    }
    const Pen pen{"#222222", 0.3, false};
    line(x - 0.9, y, x + 0.9, y, pen);
    line(x, y - 0.9, x, y + 0.9, pen);
}

void SvgSheet::beginView(const std::string& title, double x, double y,
                         const Eigen::Vector2d& centre, double scale) {
    scale_ = scale;
    body_ += "<g transform=\"translate(" + number(x - scale * centre.x()) + " " +
             number(y + scale * centre.y()) + ") scale(" + formatExact(scale) + " " +
             formatExact(-scale) + ")\"><title>" + escaped(title) + "</title>\n";
}

void SvgSheet::path(const std::vector<std::vector<Eigen::Vector2d>>& lines, bool closed,
                    const Pen& pen, const std::string& name) {
    std::string d;
    for (const auto& points : lines) {
        Eigen::Vector2d last = Eigen::Vector2d::Zero();
        for (std::size_t i = 0; i < points.size(); ++i) {
            if (i > 0 && i + 1 < points.size() && (points[i] - last).norm() * scale_ < kClosest_mm)
                continue;
            last = points[i];
            d += (i == 0 ? "M" : "L") + number(last.x()) + " " + number(last.y());
        }
        if (closed && !points.empty()) d += "Z";
    }
    if (d.empty()) return;
    body_ += "<path d=\"" + d + "\"" + penText(pen, scale_) + "><title>" + escaped(name) +
             "</title></path>\n";
}

void SvgSheet::endView() {
    body_ += "</g>\n";
    scale_ = 1.0;
}

std::string SvgSheet::document(double width_mm, double height_mm, const std::string& title) const {
    const std::string size = number(width_mm), tall = number(height_mm);
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" "
           "width=\"" +
           size + "mm\" height=\"" + tall + "mm\" viewBox=\"0 0 " + size + " " + tall +
           "\" font-family=\"sans-serif\" fill=\"#222222\">\n<title>" + escaped(title) +
           "</title>\n<rect width=\"" + size + "\" height=\"" + tall + "\" fill=\"#ffffff\"/>\n" +
           body_ + "</svg>\n";
}

}  // namespace macle
