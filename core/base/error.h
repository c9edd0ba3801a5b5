// Error: the one exception core throws. Shown once, at the edge (window, command line).
#pragma once

#include <stdexcept>
#include <string>

namespace macle {

enum class ErrorCode {
    BadUsage,    // the request itself makes no sense (exit code 2 on the command line)
    BadInput,    // a file or value given from outside is unusable
    NotFound,    // a file, cut or material of that name does not exist
    NoSolution,  // the input is sound but the job has no answer (no fit, empty solid)
    Cancelled,   // the user stopped it
    Io,          // reading or writing failed
    Internal,    // one of our own checks failed; the result was withheld
};

// `what` and where in words a planner can read, and what to do about it.
class Error : public std::runtime_error {
  public:
    Error(ErrorCode code, const std::string& message, const std::string& remedy);

    ErrorCode code() const { return code_; }
    const std::string& message() const { return message_; }
    const std::string& remedy() const { return remedy_; }

  private:
    ErrorCode code_;
    std::string message_;
    std::string remedy_;
};

// Throws Error{Internal}. Active in release builds: a wrong weight is worse than no weight.
void require(bool condition, const char* invariant);

}  // namespace macle
