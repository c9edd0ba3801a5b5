#include "app/terminal/output.h"

#include <algorithm>
#include <cmath>
#include <iostream>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"

namespace macle::app {

namespace {

// Width on a terminal of UTF-8 text: code points.
std::size_t width(const std::string& text) {
    return std::size_t(
        std::count_if(text.begin(), text.end(), [](char c) { return (c & '\xc0') != '\x80'; }));
}

std::string padded(const std::string& text, std::size_t to, bool right) {
    const std::string gap(to - std::min(to, width(text)), ' ');
    return right ? gap + text : text + gap;
}

bool looksNumeric(const std::string& text) {
    const std::size_t first = text.find_first_not_of("+-");
    return first != std::string::npos && text[first] >= '0' && text[first] <= '9';
}

std::string dumped(const Json& object) {
    // Text from files may be no valid UTF-8; it must not stop the result.
    return object.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace

Json finite(double value) {
    require(std::isfinite(value), "a result is a finite number");
    return value == 0.0 ? 0.0 : value;  // no "-0.0"
}

Json array(const Eigen::Vector3d& v) {
    return Json::array({finite(v.x()), finite(v.y()), finite(v.z())});
}

Json placementJson(const Placement& placement) {
    const Eigen::Quaterniond& q = placement.rotation;
    Json object;
    object["quaternion_wxyz"] =
        Json::array({finite(q.w()), finite(q.x()), finite(q.y()), finite(q.z())});
    object["translation_mm"] = array(placement.translation_mm);
    return object;
}

void addWeightBasis(Json& object, const Stone& stone) {
    object["weight_factor"] = finite(weightFactor(stone));
}

Json limitsJson(const std::vector<FitLimit>& limits) {
    Json list = Json::array();
    for (const FitLimit& limit : limits)
        list.push_back({{"point_mm", array(limit.point_mm)},
                        {"facet", limit.facet},
                        {"source", limit.source}});
    return list;
}

void print(const std::string& text) {
    std::cout << text << std::flush;
    if (!std::cout)
        throw Error(ErrorCode::Io, "The result could not be written to standard output.",
                    "Check the disk or the program that reads it.");
}

void printJson(const Json& object) {
    print(dumped(object));
}

void writeJson(const Json& object, const std::filesystem::path& file) {
    writeTextFile(file, "file", dumped(object));
}

std::string fields(const std::vector<std::pair<std::string, std::string>>& rows) {
    std::size_t widest = 0;
    for (const auto& [label, value] : rows)
        widest = std::max(widest, width(label));
    std::string text;
    for (const auto& [label, value] : rows)
        text += padded(label, widest + 2, false) + value + "\n";
    return text;
}

std::string table(const std::vector<std::string>& heading,
                  const std::vector<std::vector<std::string>>& rows) {
    std::vector<std::size_t> widths;
    std::vector<bool> right;
    for (std::size_t c = 0; c < heading.size(); ++c) {
        std::size_t widest = width(heading[c]);
        bool numeric = !rows.empty();
        for (const auto& row : rows) {
            widest = std::max(widest, width(row[c]));
            numeric = numeric && (looksNumeric(row[c]) || row[c] == "-");
        }
        widths.push_back(widest);
        right.push_back(numeric);
    }
    const auto line = [&](const std::vector<std::string>& cells) {
        std::string text;
        for (std::size_t c = 0; c < cells.size(); ++c)
            text += (c == 0 ? "" : "  ") + padded(cells[c], widths[c], right[c]);
        text.erase(text.find_last_not_of(' ') + 1);
        return text + "\n";
    };
    std::string text = line(heading);
    for (const auto& row : rows)
        text += line(row);
    return text;
}

std::string caratText(double weight_ct) {
    return formatFixed(weight_ct, 3) + " ct";
}
std::string lengthText(double length_mm) {
    return formatFixed(length_mm, 3) + " mm";
}

}  // namespace macle::app
