#include "core/archive/database.h"

#include <cmath>

#include "core/base/error.h"

namespace macle::archive {

namespace {

// A path as an SQLite address, with what is special in one written as %XX.
std::string addressOf(const std::filesystem::path& file, const char* query) {
    constexpr const char* kDigits = "0123456789ABCDEF";
    std::string address = "file:";
    for (const char c : std::filesystem::absolute(file).string()) {
        if (std::string_view("?#%").find(c) == std::string_view::npos) {
            address += c;
            continue;
        }
        address += '%';
        address += kDigits[static_cast<unsigned char>(c) >> 4];
        address += kDigits[static_cast<unsigned char>(c) & 15];
    }
    return address + query;
}

}  // namespace

Database::Database(const std::filesystem::path& file, Mode mode) : file_(file), mode_(mode) {
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_URI;
    std::string address;
    switch (mode) {
        case Mode::ReadUntrusted:
            // Stone files are replaced as a whole, so nobody writes into one while it is read, and
            // a journal beside it would not be ours.
            flags |= SQLITE_OPEN_READONLY;
            address = addressOf(file, "?immutable=1");
            break;
        case Mode::CreateNew:
            flags |= SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
            address = addressOf(file, "?nolock=1");
            break;
        case Mode::EditOwn:
            // The draft's own lock keeps others out, on network folders too.
            flags |= SQLITE_OPEN_READWRITE;
            address = addressOf(file, "?nolock=1");
            break;
    }
    sqlite3* raw = nullptr;
    const int code = sqlite3_open_v2(address.c_str(), &raw, flags, nullptr);
    db_.reset(raw);
    if (code != SQLITE_OK) fail("opening");
    sqlite3_extended_result_codes(raw, 1);
    if (mode == Mode::CreateNew) return;
    sqlite3_db_config(raw, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
    sqlite3_db_config(raw, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
    sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
    sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_VIEW, 0, nullptr);
    sqlite3_limit(raw, SQLITE_LIMIT_SQL_LENGTH, 100000);
    sqlite3_limit(raw, SQLITE_LIMIT_ATTACHED, 0);
    run("PRAGMA cell_size_check = ON");
    run("PRAGMA mmap_size = 0");
}

Database Database::copyInMemory() {
    Database copy;
    copy.file_ = file_;
    sqlite3* raw = nullptr;
    const int code =
        sqlite3_open_v2(":memory:", &raw, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, nullptr);
    copy.db_.reset(raw);
    if (code != SQLITE_OK) copy.fail("opening");
    sqlite3_db_config(raw, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
    sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
    sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_VIEW, 0, nullptr);
    sqlite3_backup* backup = sqlite3_backup_init(raw, "main", db_.get(), "main");
    if (backup == nullptr) copy.fail("reading");
    const int copied = sqlite3_backup_step(backup, -1);
    sqlite3_backup_finish(backup);
    if (copied != SQLITE_DONE) copy.fail("reading");
    return copy;
}

void Database::fail(const std::string& doing) const {
    const std::string detail = db_ ? sqlite3_errmsg(db_.get()) : "out of memory";
    const int code = db_ ? sqlite3_errcode(db_.get()) & 0xff : SQLITE_NOMEM;
    const bool foreign = code == SQLITE_NOTADB || code == SQLITE_CORRUPT || code == SQLITE_ERROR;
    if (code == SQLITE_FULL)
        throw Error(ErrorCode::Io, "The disk is full; " + file_.string() + " was not written.",
                    "The file is as it was. Make room or choose another folder.");
    if (mode_ != Mode::CreateNew && foreign)
        throw Error(ErrorCode::BadInput,
                    file_.string() + " is damaged or not a stone file (" + detail + ").",
                    "Use a copy of it or take the stone in again from its scan.");
    throw Error(ErrorCode::Io, "Failed while " + doing + " " + file_.string() + ": " + detail + ".",
                "Check that the folder exists, is writable and has room.");
}

void Database::run(const std::string& sql) {
    if (sqlite3_exec(db_.get(), sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK)
        fail(mode_ == Mode::ReadUntrusted ? "reading" : "writing");
}

long long Database::number(const std::string& sql) {
    Statement statement(*this, sql);
    if (!statement.step()) fail("reading");
    return statement.integer(0);
}

Statement::Statement(Database& db, const std::string& sql) : db_(db) {
    sqlite3_stmt* raw = nullptr;
    if (sqlite3_prepare_v2(db.handle(), sql.c_str(), -1, &raw, nullptr) != SQLITE_OK)
        db.fail("reading");
    statement_.reset(raw);
}

Statement& Statement::bind(int parameter, double value) {
    if (sqlite3_bind_double(statement_.get(), parameter, value) != SQLITE_OK) db_.fail("writing");
    return *this;
}

Statement& Statement::bind(int parameter, long long value) {
    if (sqlite3_bind_int64(statement_.get(), parameter, value) != SQLITE_OK) db_.fail("writing");
    return *this;
}

Statement& Statement::bind(int parameter, const std::string& value) {
    if (sqlite3_bind_text64(statement_.get(), parameter, value.data(), value.size(),
                            SQLITE_TRANSIENT, SQLITE_UTF8) != SQLITE_OK)
        db_.fail("writing");
    return *this;
}

Statement& Statement::bindBlob(int parameter, std::span<const std::byte> value) {
    // An empty span may have no address, which SQLite would take for NULL.
    const void* data = value.empty() ? "" : static_cast<const void*>(value.data());
    // Not copied: a skin takes tens of megabytes.
    if (sqlite3_bind_blob64(statement_.get(), parameter, data, value.size(), SQLITE_STATIC) !=
        SQLITE_OK)
        db_.fail("writing");
    return *this;
}

Statement& Statement::bindNull(int parameter) {
    if (sqlite3_bind_null(statement_.get(), parameter) != SQLITE_OK) db_.fail("writing");
    return *this;
}

bool Statement::step() {
    const int code = sqlite3_step(statement_.get());
    if (code == SQLITE_ROW) return true;
    if (code == SQLITE_DONE) return false;
    db_.fail("reading or writing");
}

void Statement::reset() {
    sqlite3_reset(statement_.get());
    sqlite3_clear_bindings(statement_.get());
}

void Statement::expect(int column, int type, const char* name) const {
    const int found = sqlite3_column_type(statement_.get(), column);
    if (found == type || (type == SQLITE_FLOAT && found == SQLITE_INTEGER)) return;
    throw Error(ErrorCode::BadInput,
                std::string("The stone file holds a value that is not ") + name + " in column '" +
                    sqlite3_column_name(statement_.get(), column) + "'.",
                "The file is damaged: use a copy of it or take the stone in again.");
}

double Statement::real(int column) const {
    expect(column, SQLITE_FLOAT, "a number");
    const double value = sqlite3_column_double(statement_.get(), column);
    if (!std::isfinite(value))
        throw Error(ErrorCode::BadInput, "The stone file holds a number that is not finite.",
                    "The file is damaged: use a copy of it or take the stone in again.");
    return value;
}

long long Statement::integer(int column) const {
    expect(column, SQLITE_INTEGER, "a whole number");
    return sqlite3_column_int64(statement_.get(), column);
}

std::string Statement::text(int column) const {
    expect(column, SQLITE_TEXT, "text");
    const auto* data = reinterpret_cast<const char*>(sqlite3_column_text(statement_.get(), column));
    const int size = sqlite3_column_bytes(statement_.get(), column);
    return data ? std::string(data, static_cast<std::size_t>(size)) : std::string();
}

std::span<const std::byte> Statement::blob(int column) const {
    expect(column, SQLITE_BLOB, "a block of data");
    const auto* data = static_cast<const std::byte*>(sqlite3_column_blob(statement_.get(), column));
    return {data, static_cast<std::size_t>(sqlite3_column_bytes(statement_.get(), column))};
}

std::optional<double> Statement::realOrNull(int column) const {
    if (sqlite3_column_type(statement_.get(), column) == SQLITE_NULL) return std::nullopt;
    return real(column);
}

}  // namespace macle::archive
