#include <GL/glew.h>
// glew must come before any other OpenGL header.
#include <vtkMapper.h>
#include <vtkObjectFactory.h>
#include <vtkOpenGLRenderWindow.h>
#include <vtkOpenGLRenderer.h>
#include <vtkOpenGLState.h>

#include "render/blended_actor.h"

namespace macle::render {

vtkStandardNewMacro(BlendedActor)

    BlendedActor::BlendedActor() {
    this->ForceOpaqueOn();  // which pass, not how
}

BlendedActor::~BlendedActor() = default;

void BlendedActor::Render(vtkRenderer* renderer, vtkMapper* mapper) {
    vtkOpenGLState* state = static_cast<vtkOpenGLRenderer*>(renderer)->GetState();
    const vtkOpenGLState::ScopedglDepthMask keepMask(state);
    const vtkOpenGLState::ScopedglDepthFunc keepFunction(state);
    const vtkOpenGLState::ScopedglEnableDisable keepBlend(state, GL_BLEND);
    state->vtkglDepthMask(GL_FALSE);
    state->vtkglDepthFunc(onlyHidden_ ? GL_GREATER : GL_LEQUAL);
    state->vtkglEnable(GL_BLEND);
    mapper->Render(renderer, this);
    this->EstimatedRenderTime += mapper->GetTimeToDraw();
}

}  // namespace macle::render
