// How the faces of a cut stone take light, whatever their colour.
#pragma once

class vtkActor;
class vtkMapper;

namespace macle::render {

// Flat, nearly unlit faces that step back a little, so that lines on them are whole. Gives the
// actor the mapper.
void lookFaceted(vtkActor& actor, vtkMapper& mapper);

}  // namespace macle::render
