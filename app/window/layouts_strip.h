// LayoutsStrip: the layouts of the stone as small pictures with name, weight and state, to step
// through, add to, and tick for a look side by side. Shows what it is given; holds no state of its
// own but selection and ticks.
// Thread contract: GUI thread.
#pragma once

#include <QImage>
#include <QWidget>
#include <vector>

class QLabel;
class QListWidget;
class QPushButton;

namespace macle::app {

class LayoutsStrip : public QWidget {
    Q_OBJECT
  public:
    static constexpr int kPictureWidth = 104, kPictureHeight = 78;

    struct Entry {
        QImage picture;
        QString name;
        QString weight;  // "6.12 ct, 2 stones"; or why there is none
        QString state;   // "draft", "approved", "replaced"
    };

    explicit LayoutsStrip(QWidget* parent = nullptr);

    void display(const std::vector<Entry>& entries, int current);
    void setChangeable(bool changeable);
    std::vector<int> ticked() const;

  Q_SIGNALS:
    void chosen(int index);
    void copyAsked();
    void renameAsked();
    void removeAsked();
    void sideBySideAsked();

  private:
    QListWidget* list_ = nullptr;
    QLabel* caption_ = nullptr;
    QPushButton* remove_ = nullptr;
    QPushButton* sideBySide_ = nullptr;
    std::vector<QPushButton*> buttons_;
    bool filling_ = false;
};

}  // namespace macle::app
