// An OpenGL context with no display and no window (EGL, surfaceless). Current on the thread that
// made it until destroyed; what was current before is then current again.
#pragma once

#include <memory>
#include <string>

namespace macle::render {

class EglContext {
  public:
    // Null when there is none; `why` then says so in words.
    static std::unique_ptr<EglContext> make(std::string& why);
    ~EglContext();
    EglContext(const EglContext&) = delete;
    EglContext& operator=(const EglContext&) = delete;

  private:
    struct Handles;
    explicit EglContext(std::unique_ptr<Handles> handles);
    std::unique_ptr<Handles> handles_;
};

}  // namespace macle::render
