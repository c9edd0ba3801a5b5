#include "core/appraise/reason.h"

#include "core/base/numbers.h"

namespace macle {

std::string reasonText(const Reason& reason) {
    if (!reason.value) return reason.what;
    return reason.what + ": " + formatFixed(*reason.value, reason.decimals) +
           (reason.unit.empty() ? "" : " " + reason.unit);
}

}  // namespace macle
