// OBJ: vertices and faces; every other kind of line is passed over.
#include <limits>

#include "core/base/numbers.h"
#include "core/stone/surface_file.h"

namespace macle::surface_file {

namespace {

constexpr const char* kExportAgain = "Export the surface again as STL, PLY or OBJ.";

// The words of one line; a backslash at its end continues it on the next.
class LineReader {
  public:
    explicit LineReader(const Source& source) : bytes_(source.bytes) {}

    bool nextLine(std::vector<std::string_view>& words) {
        words.clear();
        if (at_ >= bytes_.size()) return false;
        line_ = nextLine_;
        bool continued = true;
        while (continued && at_ < bytes_.size()) {
            std::size_t end = bytes_.find('\n', at_);
            if (end == std::string_view::npos) end = bytes_.size();
            std::string_view text = bytes_.substr(at_, end - at_);
            at_ = end + 1;
            ++nextLine_;
            if (!text.empty() && text.back() == '\r') text.remove_suffix(1);
            continued = !text.empty() && text.back() == '\\';
            if (continued) text.remove_suffix(1);
            split(text, words);
        }
        return true;
    }
    std::size_t at() const { return at_; }
    std::string place() const { return "line " + std::to_string(line_); }
    long long line() const { return line_; }

  private:
    static void split(std::string_view text, std::vector<std::string_view>& words) {
        std::size_t i = 0;
        while (i < text.size()) {
            while (i < text.size() && (text[i] == ' ' || text[i] == '\t'))
                ++i;
            const std::size_t start = i;
            while (i < text.size() && text[i] != ' ' && text[i] != '\t')
                ++i;
            if (i == start) break;
            if (text[start] == '#') {
                // A remark reaches to the end of the line; the words before it count.
                if (words.empty()) words.push_back(text.substr(start, 1));
                break;
            }
            words.push_back(text.substr(start, i - start));
        }
    }

    std::string_view bytes_;
    std::size_t at_ = 0;
    long long line_ = 1;
    long long nextLine_ = 1;
};

// "7", "7/1", "7//3", "7/1/3", "-1": the vertex as written.
long long cornerNumber(const Source& source, const LineReader& reader, std::string_view word) {
    const auto number = parseInteger(word.substr(0, word.find('/')));
    if (!number)
        reject(source, reader.place(), inQuotes(word) + " is not a corner of a face.",
               kExportAgain);
    if (*number == 0)
        reject(source, reader.place(), "A face names vertex 0, but OBJ counts from 1.",
               kExportAgain);
    return *number;
}

}  // namespace

TriangleMesh readObj(const Source& source) {
    TriangleMesh mesh;
    LineReader reader(source);
    std::vector<std::string_view> words;
    std::vector<std::uint32_t> corners;
    // A face may name a vertex that stands further down, so the range is checked at the end.
    long long highest = 0;
    long long highestLine = 0;
    std::size_t lines = 0;
    while (reader.nextLine(words)) {
        if (++lines % kPollEvery == 0) source.reached(reader.at());
        if (words.empty()) continue;
        if (words[0] == "v") {
            if (words.size() < 4)
                reject(source, reader.place(), "A vertex has fewer than three coordinates.",
                       kExportAgain);
            Eigen::Vector3d point;
            for (std::size_t axis = 0; axis < 3; ++axis) {
                const auto value = parseNumber(words[axis + 1]);
                if (!value || !(std::abs(*value) <= kFarthestCoordinate_mm))
                    checkedCoordinate(source, reader.place(),
                                      checkedNumber(source, reader.place(), words[axis + 1]));
                point[static_cast<Eigen::Index>(axis)] = *value;
            }
            mesh.vertices.push_back(point);
        } else if (words[0] == "f") {
            if (words.size() < 4)
                reject(source, reader.place(), "A face has fewer than three corners.",
                       kExportAgain);
            corners.clear();
            const auto known = static_cast<long long>(mesh.vertices.size());
            for (std::size_t i = 1; i < words.size(); ++i) {
                long long number = cornerNumber(source, reader, words[i]);
                if (number < 0) number += known + 1;
                if (number < 1 || number > std::numeric_limits<std::uint32_t>::max())
                    reject(source, reader.place(),
                           "A face names vertex " + inQuotes(words[i]) + ", which does not exist.",
                           kExportAgain);
                if (number > highest) {
                    highest = number;
                    highestLine = reader.line();
                }
                corners.push_back(static_cast<std::uint32_t>(number - 1));
            }
            for (std::size_t i = 2; i < corners.size(); ++i)
                mesh.triangles.push_back({corners[0], corners[i - 1], corners[i]});
        }
    }
    if (mesh.triangles.empty()) reject(source, "", "It holds no faces.", kExportAgain);
    if (highest > static_cast<long long>(mesh.vertices.size()))
        reject(source, "line " + std::to_string(highestLine),
               "A face names vertex " + std::to_string(highest) + ", but the file has only " +
                   std::to_string(mesh.vertices.size()) + " vertices.",
               "It was cut short or written wrongly; export or copy it again.");
    return mesh;
}

}  // namespace macle::surface_file
