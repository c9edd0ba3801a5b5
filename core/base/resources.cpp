#include "core/base/resources.h"

#include <cstdlib>
#include <vector>

#include "core/base/error.h"

namespace macle {

namespace fs = std::filesystem;

fs::path resourcePath(const fs::path& relative) {
    std::vector<fs::path> roots;
    if (const char* given = std::getenv("MACLE_RESOURCES")) roots.emplace_back(given);
    std::error_code ignored;
    const fs::path self = fs::read_symlink("/proc/self/exe", ignored);
    if (!self.empty()) roots.push_back(self.parent_path().parent_path() / "share" / "macle");
    roots.emplace_back(MACLE_SOURCE_RESOURCES);
    for (const fs::path& root : roots)
        if (fs::exists(root / relative, ignored)) return root / relative;
    throw Error(ErrorCode::NotFound, "The resource file " + relative.string() + " is missing.",
                "Install Macle again or point MACLE_RESOURCES to its resources folder.");
}

}  // namespace macle
