// Reading the small JSON files of the appraisal field by field, with messages that name file and
// field. Private to core/appraise.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace macle::json_fields {

using Json = nlohmann::json;

// One object of a file: `path` is where it stands in it ("operations 3").
class Fields {
  public:
    // Throws Error{BadInput} when it is no object or has a field that is not among `known`.
    Fields(const Json& object, std::string file, std::string path,
           const std::vector<std::string>& known);

    double number(const std::string& name, double low, double high) const;
    int integer(const std::string& name, int low, int high) const;
    std::string text(const std::string& name) const;
    const Json& list(const std::string& name) const;
    const Json& object(const std::string& name) const;

    [[noreturn]] void refuse(const std::string& name, const std::string& what,
                             const std::string& remedy) const;

  private:
    const Json& at(const std::string& name) const;

    const Json& object_;
    std::string file_;
    std::string path_;
};

// Throws Error{BadInput} when the text is no JSON.
Json parsed(const std::string& text, const std::string& file);

}  // namespace macle::json_fields
