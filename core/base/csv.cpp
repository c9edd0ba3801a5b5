#include "core/base/csv.h"

#include "core/base/error.h"

namespace macle {

namespace {

std::string trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t");
    if (first == std::string_view::npos) return {};
    return std::string(text.substr(first, text.find_last_not_of(" \t") - first + 1));
}

class CsvReader {
  public:
    CsvReader(std::string_view text, const std::string& file, std::size_t mostCells)
        : text_(text), file_(file), mostCells_(mostCells) {
        constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
        if (text_.starts_with(kByteOrderMark)) text_.remove_prefix(kByteOrderMark.size());
    }

    CsvText read() {
        CsvText result;
        while (at_ < text_.size()) {
            if (text_[at_] == '#') {
                result.notes.push_back(trimmed(bareUntil("\r\n").substr(1)));
                endLine();
                continue;
            }
            CsvRow row = readRow();
            if (row.cells.size() > 1 || !row.cells.front().empty())
                result.rows.push_back(std::move(row));
        }
        return result;
    }

  private:
    [[noreturn]] void refuse(std::size_t column, const std::string& what,
                             const std::string& remedy) const {
        throw Error(ErrorCode::BadInput, csvPlace(file_, line_, column, "") + ": " + what, remedy);
    }

    std::string_view bareUntil(std::string_view ends) {
        const std::size_t end = std::min(text_.find_first_of(ends, at_), text_.size());
        const std::string_view bare = text_.substr(at_, end - at_);
        at_ = end;
        return bare;
    }

    void endLine() {
        if (at_ < text_.size() && text_[at_] == '\r') ++at_;
        if (at_ < text_.size() && text_[at_] == '\n') ++at_;
        ++line_;
    }

    CsvRow readRow() {
        CsvRow row;
        row.line = line_;
        for (;;) {
            row.cells.push_back(readCell(row.cells.size() + 1));
            if (row.cells.size() > mostCells_)
                refuse(row.cells.size(), "the row has too many cells.",
                       "Check that this is the right file.");
            if (at_ >= text_.size() || text_[at_] != ',') break;
            ++at_;
        }
        endLine();
        return row;
    }

    std::string readCell(std::size_t column) {
        const std::size_t start = text_.find_first_not_of(" \t", at_);
        if (start == std::string_view::npos || text_[start] != '"') {
            const std::string_view bare = bareUntil(",\r\n");
            if (bare.find('"') != std::string_view::npos)
                refuse(column, "there is a quote inside the cell.",
                       "Put the whole cell into quotes and double those inside.");
            return trimmed(bare);
        }
        at_ = start + 1;
        std::string cell;
        for (;;) {
            if (at_ >= text_.size())
                refuse(column, "a quoted cell does not end.", "Close it with a quote.");
            const char c = text_[at_++];
            if (c == '\n') ++line_;
            if (c != '"') {
                cell += c;
            } else if (at_ < text_.size() && text_[at_] == '"') {
                cell += '"';
                ++at_;
            } else {
                break;
            }
        }
        if (!trimmed(bareUntil(",\r\n")).empty())
            refuse(column, "text follows the closing quote.",
                   "Put the whole cell into quotes and double those inside.");
        return cell;
    }

    std::string_view text_;
    const std::string& file_;
    std::size_t mostCells_;
    std::size_t at_ = 0;
    int line_ = 1;
};

}  // namespace

CsvText parseCsv(std::string_view text, const std::string& file, std::size_t mostCells) {
    return CsvReader(text, file, mostCells).read();
}

std::string csvPlace(const std::string& file, int line, std::size_t column,
                     const std::string& name) {
    return file + ", line " + std::to_string(line) + ", column " + std::to_string(column) +
           (name.empty() ? "" : " (" + name + ")");
}

}  // namespace macle
