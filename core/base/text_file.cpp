#include "core/base/text_file.h"

#include <fstream>
#include <sstream>
#include <system_error>

#include "core/base/error.h"

namespace macle {

std::string readTextFile(const std::filesystem::path& file, const std::string& what,
                         std::uintmax_t mostBytes, const std::string& howToMake) {
    const std::string name = file.string();
    std::error_code code;
    if (!std::filesystem::is_regular_file(file, code))
        throw Error(ErrorCode::NotFound, "There is no " + what + " " + name + ".", howToMake);
    if (std::filesystem::file_size(file, code) > mostBytes)
        throw Error(ErrorCode::BadInput, name + " is far too large for a " + what + ".",
                    "Give the right file.");
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream text;
    text << stream.rdbuf();
    if (!stream)
        throw Error(ErrorCode::Io, "The file " + name + " could not be read.",
                    "Check its permissions.");
    return text.str();
}

void writeTextFile(const std::filesystem::path& file, const std::string& what,
                   const std::string& text) {
    std::ofstream stream(file, std::ios::binary | std::ios::trunc);
    stream << text;
    stream.close();
    if (!stream)
        throw Error(ErrorCode::Io, "The " + what + " " + file.string() + " could not be written.",
                    "Check that its folder exists and may be written to.");
}

}  // namespace macle
