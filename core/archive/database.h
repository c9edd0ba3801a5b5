// A thin, throwing layer over one SQLite connection; private to archive.
#pragma once

#include <sqlite3.h>

#include <cstddef>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string>

namespace macle::archive {

class Database {
  public:
    // ReadUntrusted: read-only, defensive, no trusted schema, size limits; the file is taken as it
    // stands, without locks and without looking at files beside it. EditOwn: a draft, opened as
    // defensively, for writing; what a crash left half done is rolled back. Throws Error.
    enum class Mode { ReadUntrusted, CreateNew, EditOwn };

    Database(const std::filesystem::path& file, Mode mode);

    // A copy of it in memory, for changing without touching the file.
    Database copyInMemory();

    void run(const std::string& sql);
    long long number(const std::string& sql);  // first column of the first row
    sqlite3* handle() const { return db_.get(); }

    [[noreturn]] void fail(const std::string& doing) const;

  private:
    struct Close {
        void operator()(sqlite3* db) const { sqlite3_close_v2(db); }
    };
    Database() = default;

    std::filesystem::path file_;
    Mode mode_ = Mode::ReadUntrusted;
    std::unique_ptr<sqlite3, Close> db_;
};

class Statement {
  public:
    Statement(Database& db, const std::string& sql);

    // Parameters count from 1, columns from 0, as in SQLite.
    Statement& bind(int parameter, double value);
    Statement& bind(int parameter, long long value);
    Statement& bind(int parameter, const std::string& value);
    Statement& bindBlob(int parameter, std::span<const std::byte> value);  // must outlive the step
    Statement& bindNull(int parameter);

    bool step();  // true: a row is there
    void reset();

    // A column of another type than asked for is a damaged file: Error{BadInput}.
    double real(int column) const;
    long long integer(int column) const;
    std::string text(int column) const;
    std::span<const std::byte> blob(int column) const;
    std::optional<double> realOrNull(int column) const;

  private:
    void expect(int column, int type, const char* name) const;
    struct Finalize {
        void operator()(sqlite3_stmt* s) const { sqlite3_finalize(s); }
    };
    Database& db_;
    std::unique_ptr<sqlite3_stmt, Finalize> statement_;
};

}  // namespace macle::archive
