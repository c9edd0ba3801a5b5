#include "core/archive/layout_file.h"

#include <algorithm>

#include "core/archive/state_json.h"
#include "core/base/error.h"
#include "core/stone/surface_file.h"

namespace macle {
namespace {

using archive::Json;

constexpr std::uintmax_t kLargestList = std::uintmax_t{16} << 20;
constexpr const char* kSeeSchema = "The form of a layout list is in schemas/layouts.schema.json.";

}  // namespace

std::vector<Layout> archive::readLayoutList(const std::filesystem::path& file,
                                            const std::string& text) {
    Json list;
    try {
        list = Json::parse(text);
    } catch (const Json::parse_error& fault) {
        const auto end =
            text.begin() + static_cast<std::ptrdiff_t>(std::min(fault.byte, text.size()));
        throw Error(ErrorCode::BadInput,
                    file.string() + ", line " +
                        std::to_string(1 + std::count(text.begin(), end, '\n')) +
                        ": this is not readable as JSON.",
                    kSeeSchema);
    } catch (const Json::exception&) {
        throw Error(ErrorCode::BadInput, file.string() + ": a number is too large.", kSeeSchema);
    }
    const defect_json::Place place{file.string(), 0, ""};
    try {
        defect_json::allowOnly(list, place, {"$schema", "layouts"});
        return archive::layoutsFrom(defect_json::need(list, place, "layouts"), file.string());
    } catch (const Error& fault) {
        throw Error(fault.code(), fault.message(), kSeeSchema);
    }
}

std::vector<Layout> readLayouts(const std::filesystem::path& file) {
    return archive::readLayoutList(file, surface_file::readWhole(file, kLargestList));
}

void writeLayouts(const std::vector<Layout>& layouts, const std::filesystem::path& file) {
    const Json list = {{"layouts", archive::layoutsJson(layouts)}};
    surface_file::writeWhole(file, list.dump(1, ' ', false, Json::error_handler_t::replace) + "\n");
}

}  // namespace macle
