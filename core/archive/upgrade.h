// From older forms of the stone file to the present one, a step per form. Private to archive.
#pragma once

#include "core/archive/database.h"

namespace macle::archive {

// Brings a database of that form to the present one. It must be a copy in memory.
void upgrade(Database& db, long long form);

}  // namespace macle::archive
