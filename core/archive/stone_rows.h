// The rows of a stone file, form 2: how its content lies in the tables, and back. Private to
// archive.
#pragma once

#include <functional>
#include <set>
#include <string>

#include "core/archive/database.h"
#include "core/archive/stone_file.h"

namespace macle::archive {

// "Macl"
inline constexpr long long kApplicationId = 0x4D61636C;
inline constexpr long long kSchemaVersion = 4;

// Makes the tables of the present form in an empty database and writes everything, in one
// transaction.
void createAndWrite(Database& db, const StoneFile& content);

// Writes what differs from the stored content: new surfaces, steps and approvals, the state. The
// rough must be the same. One transaction: it is all there or nothing is.
class RowUpdate {
  public:
    // `more` runs inside the transaction. Throws Error; the stored content is then as it was.
    void apply(Database& db, const StoneFile& content, const std::function<void(Database&)>& more);

  private:
    // What is stored, so that it need not be written again; unknown at first.
    std::set<std::string> surfaces_;
    std::vector<std::shared_ptr<const Step>> steps_;
    std::size_t approvals_ = 0;
    bool known_ = false;
};

// Reads the present form. The rough passes the checks of the intake. Throws Error{BadInput}.
StoneFile readRows(Database& db);

std::string reportText(const IntakeReport& report);
IntakeReport reportFrom(const std::string& text);

// The hash that tells whether any of it was changed outside the program.
std::string sealOf(Database& db);

[[noreturn]] void damaged(const std::string& what);

}  // namespace macle::archive
