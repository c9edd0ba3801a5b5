#include "core/appraise/price_table.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "core/base/csv.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/resources.h"
#include "core/base/text_file.h"
#include "core/cut/library.h"
#include "core/stone/colour.h"

namespace macle {

namespace {

constexpr std::uintmax_t kLargestFile = 16u << 20;
constexpr double kHeaviest_ct = 10000.0;
constexpr double kDearest = 1e12;
constexpr double kHundredth = 1e-6;  // how near to a whole hundredth a weight must be, in them

const std::vector<std::string> kPriceHeading = {
    "shape", "weight_from_ct", "weight_to_ct", "colour", "clarity", "price_per_ct", "currency"};
const std::vector<std::string> kFactorHeading = {"factor", "grade", "times"};

std::string listed(const std::vector<std::string>& words) {
    std::string text;
    for (const std::string& word : words)
        text += (text.empty() ? "" : ",") + word;
    return text;
}

class TableReader {
  public:
    explicit TableReader(PriceTable& table) : table_(table) {}

    void read(const std::string& text, const std::string& file) {
        file_ = file;
        table_.files.push_back(file);
        const CsvText csv = parseCsv(text, file);
        if (table_.note.empty() && !csv.notes.empty()) table_.note = csv.notes.front();
        const std::vector<std::string>* heading = nullptr;
        for (const CsvRow& row : csv.rows) {
            row_ = &row;
            if (row.cells == kPriceHeading) {
                heading = &kPriceHeading;
                continue;
            }
            if (row.cells == kFactorHeading) {
                heading = &kFactorHeading;
                continue;
            }
            if (heading == nullptr)
                refuse(0, "this is no heading of a price table.",
                       "Begin with the line " + listed(kPriceHeading) + " or " +
                           listed(kFactorHeading) + ".");
            heading_ = heading;
            if (row.cells.size() != heading->size())
                refuse(std::min(row.cells.size(), heading->size()) - 1,
                       "the row has " + std::to_string(row.cells.size()) + " cells, not " +
                           std::to_string(heading->size()) + ".",
                       "Give one for each of " + listed(*heading) + ".");
            if (heading == &kPriceHeading)
                addPrice();
            else
                addFactor();
        }
        if (heading == nullptr)
            throw Error(ErrorCode::BadInput, file + " holds no price table.",
                        "Begin it with the line " + listed(kPriceHeading) + ".");
    }

    // Rows in the order of their weights, so that only neighbours can overlap.
    void checkOverlaps() const {
        std::vector<const PriceRow*> sorted;
        for (const PriceRow& row : table_.rows)
            sorted.push_back(&row);
        std::stable_sort(sorted.begin(), sorted.end(), [](const PriceRow* a, const PriceRow* b) {
            return a->from_hundredths < b->from_hundredths;
        });
        for (std::size_t i = 0; i < sorted.size(); ++i)
            for (std::size_t j = i + 1;
                 j < sorted.size() && sorted[j]->from_hundredths <= sorted[i]->to_hundredths; ++j)
                if (overlap(*sorted[i], *sorted[j])) refuseOverlap(*sorted[i], *sorted[j]);
    }

  private:
    [[noreturn]] void refuse(std::size_t cell, const std::string& what,
                             const std::string& remedy) const {
        const std::string name = heading_ && cell < heading_->size() ? (*heading_)[cell] : "";
        throw Error(ErrorCode::BadInput, csvPlace(file_, row_->line, cell + 1, name) + ": " + what,
                    remedy);
    }

    const std::string& cell(std::size_t i) const { return row_->cells[i]; }

    double number(std::size_t i, double most, const std::string& kind) const {
        const auto value = parseNumber(cell(i));
        if (!value)
            refuse(i, "\"" + cell(i) + "\" is not a number.",
                   "Give " + kind + " with a decimal point and no thousands separator.");
        if (!(*value > 0.0 && *value <= most))
            refuse(i, cell(i) + " is out of range.",
                   "Give " + kind + " above 0 and up to " + formatExact(most) + ".");
        return *value;
    }

    int hundredths(std::size_t i) const {
        const double value = 100.0 * number(i, kHeaviest_ct, "a weight in carats");
        if (std::abs(value - std::round(value)) > kHundredth)
            refuse(i, cell(i) + " has more than two decimals.",
                   "Weights are priced in hundredths of a carat: 1.00 to 1.49, then 1.50.");
        return static_cast<int>(std::round(value));
    }

    void addPrice() {
        if (table_.rows.size() >= kMostPriceRows)
            refuse(0, "the table has too many rows.",
                   "Keep it to " + std::to_string(kMostPriceRows) + ".");
        PriceRow row;
        row.line = row_->line;
        row.file = static_cast<int>(table_.files.size()) - 1;
        if (cell(0) != "any") {
            row.shape = cell(0);
            const auto cuts = cutLibrary();
            if (std::none_of(cuts.begin(), cuts.end(),
                             [&](const CutInfo& cut) { return cut.name == row.shape; })) {
                std::string names;
                for (const CutInfo& cut : cuts)
                    names += (names.empty() ? "" : ", ") + cut.name;
                refuse(0, "there is no cut named \"" + row.shape + "\".",
                       "Use \"any\" or one of: " + names + ".");
            }
        }
        row.from_hundredths = hundredths(1);
        row.to_hundredths = hundredths(2);
        if (row.to_hundredths < row.from_hundredths)
            refuse(2, "the band ends at " + cell(2) + " ct before it begins at " + cell(1) + " ct.",
                   "Give the lighter end first.");
        const std::string& colour = cell(3);
        const bool range = colour.size() == 3 && colour[1] == '-';
        if (colour != "any") {
            row.colourFrom = colour.empty() ? '?' : colour.front();
            row.colourTo = colour.empty() ? '?' : colour.back();
            if (!(colour.size() == 1 || range) || row.colourFrom < 'D' || row.colourTo > 'Z' ||
                row.colourFrom > row.colourTo)
                refuse(3, "\"" + colour + "\" is no colour.",
                       "Give a letter D to Z, a range such as D-F, or \"any\".");
        }
        const auto clarity = clarityRange(cell(4));
        if (!clarity)
            refuse(
                4, "\"" + cell(4) + "\" is no clarity.",
                "Give a grade from loupe clean, VVS1 ... to P3, a group such as VS, a range such "
                "as VS1-SI1, or \"any\".");
        row.clarity = *clarity;
        row.price_per_ct = number(5, kDearest, "a price per carat");
        if (cell(6).empty()) refuse(6, "no currency is given.", "Write it out: USD, EUR ...");
        if (table_.currency.empty()) table_.currency = cell(6);
        if (cell(6) != table_.currency)
            refuse(6, "the currency is " + cell(6) + " but was " + table_.currency + " before.",
                   "Keep one currency in all rows.");
        table_.rows.push_back(row);
    }

    void addFactor() {
        PriceFactor factor{cell(0), cell(1), number(2, 100.0, "a factor")};
        if (factor.factor == "fluorescence") {
            bool known = false;
            for (const auto strength : {FluorescenceStrength::None, FluorescenceStrength::Slight,
                                        FluorescenceStrength::Medium, FluorescenceStrength::Strong,
                                        FluorescenceStrength::VeryStrong})
                known = known || factor.grade == fluorescenceName(strength);
            if (!known)
                refuse(1, "\"" + factor.grade + "\" is no strength of fluorescence.",
                       "Use none, slight, medium, strong or very strong.");
        } else if (factor.factor == "cut") {
            const auto band = parseInteger(factor.grade);
            if (!band || *band < 1 || *band > 5)
                refuse(1, "\"" + factor.grade + "\" is no band of proportions.",
                       "Use 1 (within the narrowest published bands) to 5 (outside all).");
        } else {
            refuse(0, "\"" + factor.factor + "\" is no factor.", "Use fluorescence or cut.");
        }
        for (const PriceFactor& known : table_.factors)
            if (known.factor == factor.factor && known.grade == factor.grade)
                refuse(1,
                       "the factor of " + factor.factor + " " + factor.grade +
                           " is given a second time.",
                       "Keep one of them.");
        table_.factors.push_back(std::move(factor));
    }

    static bool overlap(const PriceRow& a, const PriceRow& b) {
        return a.shape == b.shape && a.from_hundredths <= b.to_hundredths &&
               b.from_hundredths <= a.to_hundredths && a.colourFrom <= b.colourTo &&
               b.colourFrom <= a.colourTo && a.clarity.cleanest <= b.clarity.lowest &&
               b.clarity.cleanest <= a.clarity.lowest;
    }

    [[noreturn]] void refuseOverlap(const PriceRow& a, const PriceRow& b) const {
        const bool inOrder = std::tie(a.file, a.line) < std::tie(b.file, b.line);
        const PriceRow& first = inOrder ? a : b;
        const PriceRow& second = inOrder ? b : a;
        throw Error(
            ErrorCode::BadInput,
            csvPlace(table_.files[static_cast<std::size_t>(second.file)], second.line, 1, "") +
                ": this row (" + priceRowText(second) + ") overlaps line " +
                std::to_string(first.line) + " of " +
                table_.files[static_cast<std::size_t>(first.file)] + " (" + priceRowText(first) +
                "): some stones would have two prices.",
            "Change the weights, colours or clarities of one of them.");
    }

    PriceTable& table_;
    std::string file_;
    const CsvRow* row_ = nullptr;
    const std::vector<std::string>* heading_ = nullptr;
};

}  // namespace

PriceTable readPrices(const std::vector<std::filesystem::path>& files) {
    PriceTable table;
    TableReader reader(table);
    for (const std::filesystem::path& file : files)
        reader.read(readTextFile(file, "price table", kLargestFile,
                                 "Check the name; " + demoPrices().string() + " is an example."),
                    file.string());
    reader.checkOverlaps();
    return table;
}

PriceTable parsePrices(const std::string& text, const std::string& file) {
    PriceTable table;
    TableReader reader(table);
    reader.read(text, file);
    reader.checkOverlaps();
    return table;
}

std::filesystem::path demoPrices() {
    return resourcePath("prices/invented_demo.csv");
}

std::string priceRowText(const PriceRow& row) {
    const std::string colour(1, row.colourFrom);
    std::string clarity = clarityName(row.clarity.cleanest, true);
    if (row.clarity.lowest > row.clarity.cleanest)
        clarity += "-" + clarityName(row.clarity.lowest, true);
    return (row.shape.empty() ? "any shape" : row.shape) + ", " +
           formatFixed(row.from_hundredths / 100.0, 2) + " to " +
           formatFixed(row.to_hundredths / 100.0, 2) + " ct, " + colour +
           (row.colourTo > row.colourFrom ? "-" + std::string(1, row.colourTo) : "") + ", " +
           clarity;
}

}  // namespace macle
