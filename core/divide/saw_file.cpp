#include "core/divide/saw_file.h"

#include <nlohmann/json.hpp>

#include "core/base/error.h"
#include "core/base/text_file.h"
#include "core/divide/saw_json.h"

namespace macle {
namespace {

using nlohmann::json;
using namespace defect_json;

constexpr std::uintmax_t kLargestFile = 1u << 20;  // far above any list
constexpr const char* kSeeSchema = "The form of a list of saws is in schemas/saws.schema.json.";

}  // namespace

std::vector<Saw> parseSaws(const std::string& text, const std::filesystem::path& file) {
    const json root = json::parse(text, nullptr, false);
    if (root.is_discarded())
        throw Error(ErrorCode::BadInput, file.string() + ": this is not readable as JSON.",
                    kSeeSchema);
    try {
        const Place whole{file.string(), 0, ""};
        allowOnly(root, whole, {"$schema", "saws"});
        return saw_json::sawsFrom(need(root, whole, "saws"), whole.inside("saws"));
    } catch (const Error& fault) {
        throw Error(fault.code(), fault.message(), kSeeSchema);
    }
}

std::vector<Saw> readSaws(const std::filesystem::path& file) {
    return parseSaws(readTextFile(file, "list of saws", kLargestFile), file);
}

std::string sawsText(const std::vector<Saw>& saws) {
    return json{{"saws", saw_json::asJson(saws)}}.dump(1) + "\n";
}

}  // namespace macle
