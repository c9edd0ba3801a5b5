// PlacementsStrip: the placements a search has found, as small pictures with their weights, to step
// through. Shows what it is given; holds no state of its own but the selection.
// Thread contract: GUI thread.
#pragma once

#include <QImage>
#include <QWidget>
#include <vector>

class QLabel;
class QListWidget;

namespace macle::app {

class PlacementsStrip : public QWidget {
    Q_OBJECT
  public:
    static constexpr int kPictureWidth = 104, kPictureHeight = 78;

    struct Entry {
        QImage picture;
        QString weight;  // "4.45 ct"
        QString size;    // "10.632 mm"
    };

    explicit PlacementsStrip(QWidget* parent = nullptr);

    void display(const std::vector<Entry>& entries, int current);
    void setCurrent(int index);  // -1: none of them
    void setChangeable(bool changeable);

  Q_SIGNALS:
    void chosen(int index);
    void putAwayAsked();

  private:
    QListWidget* list_ = nullptr;
    QLabel* caption_ = nullptr;
    bool filling_ = false;
};

}  // namespace macle::app
