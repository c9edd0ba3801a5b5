#include <GL/glew.h>
// glew must come before any other OpenGL header.
#include <vtkObjectFactory.h>

#include "render/surfaceless_window.h"

namespace macle::render {

vtkStandardNewMacro(SurfacelessWindow)

    SurfacelessWindow::SurfacelessWindow() {
    this->SetIsCurrent(true);  // the owner keeps the context current
    this->SetFrameBlitModeToNoBlit();
    this->SetMultiSamples(0);  // depth peeling needs none
    this->SetSwapBuffers(0);
    this->SetShowWindow(false);
}

SurfacelessWindow::~SurfacelessWindow() = default;

bool SurfacelessWindow::start() {
    if (!this->Initialized) this->OpenGLInitContext();
    return this->GlewInitValid;
}

void SurfacelessWindow::OpenGLInitContext() {
    this->ContextCreationTime.Modified();
    if (this->Initialized) return;
    // The loader fetches the OpenGL functions first and only then looks for an X display, so
    // "no display" still means that the functions are there.
    const GLenum result = glewInit();
    const bool loaded = result == GLEW_OK || result == GLEW_ERROR_NO_GLX_DISPLAY;
    this->GlewInitValid = loaded && GLEW_VERSION_3_2;
    if (!this->GlewInitValid) return;
    this->Initialized = true;
    GLfloat range[2] = {1.0F, 1.0F};
    glGetFloatv(GL_ALIASED_LINE_WIDTH_RANGE, range);
    this->MaximumHardwareLineWidth = range[1];
}

}  // namespace macle::render
