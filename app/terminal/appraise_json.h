// An appraisal as the JSON that `appraise --json` prints (resources/schemas/appraise.schema.json).
#pragma once

#include "app/terminal/output.h"
#include "core/appraise/layout_appraisal.h"

namespace macle::app {

// Throws Error{Internal} for a figure that is not finite.
Json appraisalJson(const Subject& subject, const LayoutAppraisal& appraisal);

}  // namespace macle::app
