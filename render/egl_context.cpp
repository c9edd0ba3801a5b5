#include "render/egl_context.h"

#include <EGL/egl.h>
#include <EGL/eglext.h>

#include <cstdio>
#include <cstring>

namespace macle::render {

namespace {

bool has(const char* list, const char* name) {
    const std::size_t length = std::strlen(name);
    for (const char* at = list; at != nullptr && (at = std::strstr(at, name)) != nullptr;
         at += length) {
        const bool starts = at == list || at[-1] == ' ';
        if (starts && (at[length] == ' ' || at[length] == '\0')) return true;
    }
    return false;
}

std::string eglError() {
    char text[16];
    std::snprintf(text, sizeof text, "0x%04x", static_cast<unsigned>(eglGetError()));
    return text;
}

EGLDisplay surfacelessDisplay(std::string& why) {
    const char* client = eglQueryString(EGL_NO_DISPLAY, EGL_EXTENSIONS);
    if (client == nullptr || !has(client, "EGL_EXT_platform_base") ||
        !has(client, "EGL_MESA_platform_surfaceless")) {
        why =
            "the EGL library offers no drawing without a display "
            "(EGL_MESA_platform_surfaceless); install Mesa's EGL driver";
        return EGL_NO_DISPLAY;
    }
    const auto getDisplay = reinterpret_cast<PFNEGLGETPLATFORMDISPLAYEXTPROC>(
        eglGetProcAddress("eglGetPlatformDisplayEXT"));
    EGLDisplay display = getDisplay != nullptr ? getDisplay(EGL_PLATFORM_SURFACELESS_MESA,
                                                            EGL_DEFAULT_DISPLAY, nullptr)
                                               : EGL_NO_DISPLAY;
    if (display == EGL_NO_DISPLAY) why = "EGL gave no display to draw without a window";
    return display;
}

}  // namespace

struct EglContext::Handles {
    EGLDisplay display = EGL_NO_DISPLAY;
    EGLContext context = EGL_NO_CONTEXT;
    EGLDisplay oldDisplay = EGL_NO_DISPLAY;
    EGLContext oldContext = EGL_NO_CONTEXT;
    EGLSurface oldDraw = EGL_NO_SURFACE;
    EGLSurface oldRead = EGL_NO_SURFACE;
};

EglContext::EglContext(std::unique_ptr<Handles> handles) : handles_(std::move(handles)) {}

std::unique_ptr<EglContext> EglContext::make(std::string& why) {
    auto handles = std::make_unique<Handles>();
    handles->oldDisplay = eglGetCurrentDisplay();
    handles->oldContext = eglGetCurrentContext();
    handles->oldDraw = eglGetCurrentSurface(EGL_DRAW);
    handles->oldRead = eglGetCurrentSurface(EGL_READ);

    handles->display = surfacelessDisplay(why);
    if (handles->display == EGL_NO_DISPLAY) return nullptr;
    EGLint major = 0;
    EGLint minor = 0;
    if (eglInitialize(handles->display, &major, &minor) == EGL_FALSE) {
        why = "EGL could not start (" + eglError() + "); install a Mesa driver (libgl1-mesa-dri)";
        return nullptr;
    }
    const char* offers = eglQueryString(handles->display, EGL_EXTENSIONS);
    if (!has(offers, "EGL_KHR_surfaceless_context") || !has(offers, "EGL_KHR_create_context")) {
        why = "this EGL driver cannot make a context without a surface";
        return nullptr;
    }
    const EGLint wanted[] = {EGL_RENDERABLE_TYPE, EGL_OPENGL_BIT, EGL_SURFACE_TYPE, 0, EGL_NONE};
    EGLConfig config = nullptr;
    EGLint count = 0;
    if (eglChooseConfig(handles->display, wanted, &config, 1, &count) == EGL_FALSE || count < 1) {
        why = "this EGL driver offers no desktop OpenGL";
        return nullptr;
    }
    const EGLenum oldApi = eglQueryAPI();
    eglBindAPI(EGL_OPENGL_API);
    const EGLint version[] = {EGL_CONTEXT_MAJOR_VERSION_KHR,
                              3,
                              EGL_CONTEXT_MINOR_VERSION_KHR,
                              2,
                              EGL_CONTEXT_OPENGL_PROFILE_MASK_KHR,
                              EGL_CONTEXT_OPENGL_CORE_PROFILE_BIT_KHR,
                              EGL_NONE};
    handles->context = eglCreateContext(handles->display, config, EGL_NO_CONTEXT, version);
    if (handles->context == EGL_NO_CONTEXT) {
        why = "this EGL driver gave no OpenGL 3.2 context (" + eglError() + ")";
        eglBindAPI(oldApi);
        return nullptr;
    }
    if (eglMakeCurrent(handles->display, EGL_NO_SURFACE, EGL_NO_SURFACE, handles->context) ==
        EGL_FALSE) {
        why = "the OpenGL context could not be used (" + eglError() + ")";
        eglDestroyContext(handles->display, handles->context);
        eglBindAPI(oldApi);
        return nullptr;
    }
    return std::unique_ptr<EglContext>(new EglContext(std::move(handles)));
}

EglContext::~EglContext() {
    // The display is shared by the whole process and stays initialised.
    eglMakeCurrent(handles_->display, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
    eglDestroyContext(handles_->display, handles_->context);
    if (handles_->oldContext != EGL_NO_CONTEXT)
        eglMakeCurrent(handles_->oldDisplay, handles_->oldDraw, handles_->oldRead,
                       handles_->oldContext);
}

}  // namespace macle::render
