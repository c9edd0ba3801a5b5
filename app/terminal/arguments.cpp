#include "app/terminal/arguments.h"

#include <algorithm>
#include <numeric>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle::app {

namespace {

// Least number of single-letter changes and swaps of neighbours (Damerau, Commun. ACM 7 (1964)
// 171; each place changed once): the slips of a typing hand.
std::size_t changesBetween(std::string_view a, std::string_view b) {
    std::vector<std::vector<std::size_t>> table(a.size() + 1,
                                                std::vector<std::size_t>(b.size() + 1));
    std::iota(table[0].begin(), table[0].end(), std::size_t{0});
    for (std::size_t i = 1; i <= a.size(); ++i) {
        table[i][0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t replaced = table[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            table[i][j] = std::min({replaced, table[i - 1][j] + 1, table[i][j - 1] + 1});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                table[i][j] = std::min(table[i][j], table[i - 2][j - 2] + 1);
        }
    }
    return table[a.size()][b.size()];
}

[[noreturn]] void badUsage(const std::string& message, const std::string& remedy) {
    throw Error(ErrorCode::BadUsage, message, remedy);
}

}  // namespace

std::optional<std::string> nearestWord(std::string_view word,
                                       const std::vector<std::string>& candidates) {
    std::optional<std::string> best;
    std::size_t fewest = std::max<std::size_t>(1, word.size() / 3) + 1;
    for (const std::string& candidate : candidates) {
        const std::size_t changes = changesBetween(word, candidate);
        if (changes < fewest) {
            fewest = changes;
            best = candidate;
        }
    }
    return best;
}

const std::vector<OptionSpec>& commonOptions() {
    static const std::vector<OptionSpec> kCommon = {
        {"json", "", "print one JSON object on standard output"},
        {"progress", "", "show progress on standard error even when it is not a terminal"},
        {"cuts", "PATH", "take further cuts from this file or folder (as $MACLE_CUTS does)"},
        {"help", "", "show this help"}};
    return kCommon;
}

Arguments::Arguments(const std::string& verb, const std::vector<std::string>& words,
                     const std::vector<OptionSpec>& options)
    : verb_(verb) {
    std::vector<OptionSpec> known = options;
    known.insert(known.end(), commonOptions().begin(), commonOptions().end());
    bool optionsEnded = false;
    for (std::size_t i = 0; i < words.size(); ++i) {
        const std::string& word = words[i];
        if (optionsEnded || word.size() < 2 || word.front() != '-') {
            inputs_.push_back(word);
            continue;
        }
        if (word == "--") {
            optionsEnded = true;
            continue;
        }
        const std::size_t dashes = word.starts_with("--") ? 2 : 1;
        const std::size_t equals = word.find('=');
        const std::string name = word == "-h" ? "help" : word.substr(dashes, equals - dashes);
        const auto spec = std::find_if(known.begin(), known.end(), [&](const OptionSpec& o) {
            return o.name == name && (dashes == 2 || word == "-h");
        });
        if (spec == known.end()) {
            std::vector<std::string> names;
            for (const OptionSpec& o : known)
                names.push_back(o.name);
            const auto near = nearestWord(name, names);
            badUsage("\"" + word + "\" is not an option of `macle " + verb + "`.",
                     near ? "Did you mean --" + *near + "?"
                          : "See `macle " + verb + " --help` for its options.");
        }
        std::string value;
        if (spec->value.empty()) {
            if (equals != std::string::npos)
                badUsage("Option --" + name + " takes no value.", "Write just --" + name + ".");
        } else if (equals != std::string::npos) {
            value = word.substr(equals + 1);
        } else {
            if (i + 1 >= words.size())
                badUsage("Option --" + name + " needs a value.",
                         "Write --" + name + " " + spec->value + ".");
            value = words[++i];
        }
        if (!options_.emplace(name, value).second)
            badUsage("Option --" + name + " is given twice.", "Keep one of them.");
    }
}

std::optional<std::string> Arguments::text(const std::string& option) const {
    const auto found = options_.find(option);
    if (found == options_.end()) return std::nullopt;
    if (found->second.empty())
        badUsage("Option --" + option + " has an empty value.", "Give a value or leave it out.");
    return found->second;
}

std::optional<double> Arguments::number(const std::string& option, double low, double high) const {
    const auto given = text(option);
    if (!given) return std::nullopt;
    const auto value = parseNumber(*given);
    const std::string range = formatExact(low) + " to " + formatExact(high);
    if (!value)
        badUsage("Option --" + option + ": \"" + *given + "\" is not a number.",
                 "Give a number with a decimal point, " + range + ".");
    if (*value < low || *value > high)
        badUsage("Option --" + option + ": " + *given + " is out of range.",
                 "Give a number from " + range + ".");
    return value;
}

std::optional<long long> Arguments::integer(const std::string& option, long long low,
                                            long long high) const {
    const auto given = text(option);
    if (!given) return std::nullopt;
    const auto value = parseInteger(*given);
    const std::string range = std::to_string(low) + " to " + std::to_string(high);
    if (!value)
        badUsage("Option --" + option + ": \"" + *given + "\" is not a whole number.",
                 "Give a whole number from " + range + ".");
    if (*value < low || *value > high)
        badUsage("Option --" + option + ": " + *given + " is out of range.",
                 "Give a whole number from " + range + ".");
    return value;
}

const std::string& Arguments::soleInput(const std::string& what) const {
    if (inputs_.empty())
        badUsage("`macle " + verb_ + "` needs " + what + ".",
                 "See `macle " + verb_ + " --help` for an example.");
    if (inputs_.size() > 1)
        badUsage("`macle " + verb_ + "` takes one input, but \"" + inputs_[1] + "\" is a second.",
                 "Quote names with spaces, and give options as --name VALUE.");
    return inputs_.front();
}

void Arguments::expectNoInput() const {
    if (!inputs_.empty())
        badUsage("`macle " + verb_ + "` takes no input, but got \"" + inputs_.front() + "\".",
                 "Give options as --name VALUE.");
}

}  // namespace macle::app
