// Arguments: one verb's words and options, checked against what the verb knows.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace macle::app {

struct OptionSpec {
    std::string name;   // "size", used as --size
    std::string value;  // what follows it ("MM"); empty for a switch
    std::string help;
};

// Options every verb takes: --json, --progress, --cuts, --help.
const std::vector<OptionSpec>& commonOptions();

class Arguments {
  public:
    // Accepts "--name VALUE" and "--name=VALUE"; "--" ends the options. Throws Error{BadUsage} for
    // an unknown or repeated option, with the nearest known name, and for a missing value.
    Arguments(const std::string& verb, const std::vector<std::string>& words,
              const std::vector<OptionSpec>& options);

    bool has(const std::string& option) const { return options_.contains(option); }
    std::optional<std::string> text(const std::string& option) const;
    // Throw Error{BadUsage} naming option, text and what is allowed.
    std::optional<double> number(const std::string& option, double low, double high) const;
    std::optional<long long> integer(const std::string& option, long long low,
                                     long long high) const;

    const std::vector<std::string>& inputs() const { return inputs_; }
    // The one input of the verb. Throws Error{BadUsage} unless there is exactly one.
    const std::string& soleInput(const std::string& what) const;
    // Throws Error{BadUsage} when there is any input.
    void expectNoInput() const;

    bool json() const { return has("json"); }

  private:
    std::string verb_;
    std::map<std::string, std::string> options_;
    std::vector<std::string> inputs_;
};

// The candidate most like `word`, if any is close enough to be meant.
std::optional<std::string> nearestWord(std::string_view word,
                                       const std::vector<std::string>& candidates);

}  // namespace macle::app
