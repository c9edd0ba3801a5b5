#include "core/base/error.h"

namespace macle {

Error::Error(ErrorCode code, const std::string& message, const std::string& remedy)
    : std::runtime_error(remedy.empty() ? message : message + " " + remedy),
      code_(code),
      message_(message),
      remedy_(remedy) {}

void require(bool condition, const char* invariant) {
    if (!condition)
        throw Error(ErrorCode::Internal,
                    std::string("An internal check failed: ") + invariant + ".",
                    "The result was withheld. Please keep the stone file and report it.");
}

}  // namespace macle
